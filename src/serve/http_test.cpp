#include "serve/http.hpp"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <set>

namespace gw::serve {
namespace {

TEST(HttpStatus, IsSettledForEveryCode) {
    std::map<Errc, int> const expected = {{Errc::bad_input, 400},
                                          {Errc::out_of_range, 422},
                                          {Errc::not_found, 404},
                                          {Errc::conflict, 409},
                                          {Errc::busy, 503},
                                          {Errc::io, 500}};
    std::set<std::string> words;
    for (int i = 0; i <= static_cast<int>(Errc::io); ++i) {  // io is the last of the list
        auto const code = static_cast<Errc>(i);
        ASSERT_TRUE(expected.contains(code)) << i;
        auto const reply = problem(Error{code, "what", "where", "mend"});
        EXPECT_EQ(reply.status, expected.at(code));
        EXPECT_EQ(reply.status, status_of(code));
        words.insert(Json::parse(reply.body)["problem"]["code"].get<std::string>());
    }
    EXPECT_EQ(words.size(), expected.size()) << "each code has a word of its own";
}

TEST(Envelope, IsOneForSuccessAndProblem) {
    auto const good = Json::parse(json(Json{{"a", 1}}).body);
    EXPECT_EQ(good["data"]["a"], 1);
    EXPECT_TRUE(good["problem"].is_null());
    auto const bad = Json::parse(problem(Problem{401, "session", "x", "y", "z"}).body);
    EXPECT_TRUE(bad["data"].is_null());
    EXPECT_EQ(bad["problem"]["mend"], "z");
}

TEST(Envelope, TakesBytesThatAreNoText) {
    auto const reply = problem(Error{Errc::bad_input, "\xff\xfe", "", ""});
    EXPECT_TRUE(Json::accept(reply.body));
}

}  // namespace
}  // namespace gw::serve
