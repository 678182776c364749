#include "serve/target.hpp"

#include <gtest/gtest.h>

namespace gw::serve {
namespace {

TEST(Target, TakesAPathApart) {
    EXPECT_TRUE(parse_target("/")->segments.empty());
    auto const target = parse_target("/api/v1/runs/as%20left?ticket=a%2Bb&x&ticket=later");
    ASSERT_TRUE(target);
    EXPECT_EQ(target->segments, (std::vector<std::string>{"api", "v1", "runs", "as left"}));
    EXPECT_EQ(target->query.at("ticket"), "a+b");
    EXPECT_EQ(target->query.at("x"), "");
}

TEST(Target, RefusesEveryTrick) {
    for (std::string const trick : {"",
                                    "*",
                                    "http://other/",
                                    "index.html",
                                    "/../etc/passwd",
                                    "/a/../b",
                                    "/./a",
                                    "/a/..",
                                    "/%2e%2e/a",
                                    "/%2E./a",
                                    "/.%2e",
                                    "//",
                                    "//a",
                                    "/a//b",
                                    "/a%2fb",
                                    "/a%5cb",
                                    "/a\\b",
                                    "/a%00",
                                    "/a%0d%0aSet-Cookie:x",
                                    "/a%",
                                    "/a%4",
                                    "/a%zz",
                                    "/a b",
                                    "/a\tb",
                                    "/\x7f",
                                    "/\xc3\xa9",
                                    "/?a=%00",
                                    "/?a=%zz"})
        EXPECT_FALSE(parse_target(trick)) << trick;
    EXPECT_FALSE(parse_target(std::string("/a\0b", 4))) << "NUL";
    EXPECT_FALSE(parse_target("/" + std::string(3000, 'a'))) << "overlong";
}

TEST(Target, TakesASlashInAQueryAsALetter) {
    EXPECT_EQ(parse_target("/a?note=1%20mbar%20L%2Fs%5c")->query.at("note"), "1 mbar L/s\\");
    EXPECT_FALSE(parse_target("/a?note=%0a"));
}

TEST(Target, KeepsDotsThatLeadNowhere) {
    EXPECT_EQ(parse_target("/.../a.b..c")->segments, (std::vector<std::string>{"...", "a.b..c"}));
    EXPECT_EQ(parse_target("/a/")->segments, (std::vector<std::string>{"a", ""}));
    EXPECT_EQ(parse_target("/a%252e")->segments, (std::vector<std::string>{"a%2e"}))
        << "decoded once, never twice";
}

}  // namespace
}  // namespace gw::serve
