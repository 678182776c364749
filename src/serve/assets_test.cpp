#include "serve/assets.hpp"

#include <gtest/gtest.h>

#include <algorithm>

namespace gw::serve {
namespace {

Asset const script{"/assets/a-1.js", "text/javascript", "\"1f\"", true, "plain text", "zip", "br"};
Asset const index_page{"/index.html", "text/html", "\"2e\"", false, "<html>", {}, {}};

Request with(std::string name, std::string value) {
    Request request;
    request.headers.emplace_back(std::move(name), std::move(value));
    return request;
}

TEST(Assets, AreCompressedForWhoTakesIt) {
    EXPECT_EQ(asset_response(script, {}).body, "plain text");
    auto const small = asset_response(script, with("accept-encoding", "gzip, deflate, br, zstd"));
    EXPECT_EQ(small.body, "br");
    EXPECT_EQ(small.header("content-encoding"), "br");
    auto const zipped = asset_response(script, with("accept-encoding", "br;q=0, gzip;q=0.8"));
    EXPECT_EQ(zipped.body, "zip");
    EXPECT_EQ(zipped.header("content-encoding"), "gzip");
    EXPECT_EQ(zipped.header("vary"), "Accept-Encoding");
    EXPECT_EQ(asset_response(script, with("accept-encoding", "gzip;q=0")).body, "plain text");
    EXPECT_EQ(asset_response(index_page, with("accept-encoding", "gzip")).body, "<html>");
}

TEST(Assets, AreNotSentTwice) {
    for (auto const* tags : {"\"1f\"", "\"x\", W/\"1f\"", "*"}) {
        auto const reply = asset_response(script, with("if-none-match", tags));
        EXPECT_EQ(reply.status, 304) << tags;
        EXPECT_TRUE(reply.body.empty());
        EXPECT_EQ(reply.header("etag"), "\"1f\"");
    }
    EXPECT_EQ(asset_response(script, with("if-none-match", "\"other\"")).status, 200);
}

TEST(Assets, StayForEverOnlyUnderAHashedName) {
    EXPECT_NE(asset_response(script, {}).header("cache-control").find("immutable"),
              std::string::npos);
    EXPECT_EQ(asset_response(index_page, {}).header("cache-control"), "no-cache");
}

// Every place together: nobody is sent more, whatever he looks at.
TEST(Assets, HoldThePageWithinItsBudget) {
    std::size_t sent = 0;
    bool index = false, hashed = false, packed = false;
    for (auto const& asset : assets()) {
        auto bytes = asset.plain.size();
        for (auto const coded : {asset.gzip, asset.brotli}) {
            if (coded.empty()) continue;
            EXPECT_LT(coded.size(), asset.plain.size()) << asset.path;
            bytes = std::min(bytes, coded.size());
            packed = true;
        }
        // The licence of the type is asked for by nobody who looks at the page.
        if (asset.type.rfind("text/plain", 0) != 0) sent += bytes;
        index = index || asset.path == "/index.html";
        hashed = hashed || asset.hashed;
        EXPECT_FALSE(asset.plain.empty()) << asset.path;
        EXPECT_EQ(asset.etag.size(), 18U) << asset.path;
        if (!asset.gzip.empty()) {
            EXPECT_EQ(asset.gzip.substr(0, 2), "\x1f\x8b") << asset.path;
        }
    }
    EXPECT_TRUE(index);
    EXPECT_TRUE(hashed);
    EXPECT_TRUE(packed);
    EXPECT_GT(sent, 40'000U) << "the type alone is 20 kB";
    EXPECT_LT(sent, 100'000U);
}

}  // namespace
}  // namespace gw::serve
