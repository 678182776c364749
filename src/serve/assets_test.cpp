#include "serve/assets.hpp"

#include <gtest/gtest.h>

#include <algorithm>

namespace gw::serve {
namespace {

Asset const script{"/assets/a-1.js", "text/javascript", "\"1f\"", true, "plain text", "zip"};
Asset const index_page{"/index.html", "text/html", "\"2e\"", false, "<html>", {}};

Request with(std::string name, std::string value) {
    Request request;
    request.headers.emplace_back(std::move(name), std::move(value));
    return request;
}

TEST(Assets, AreCompressedForWhoTakesIt) {
    EXPECT_EQ(asset_response(script, {}).body, "plain text");
    auto const zipped = asset_response(script, with("accept-encoding", "br, gzip;q=0.8"));
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

// What every first view loads (the shell and the type), and with it any one part that comes later.
TEST(Assets, HoldThePageWithinItsBudget) {
    std::size_t shell = 0, largest = 0;
    std::string_view names;
    for (auto const& asset : assets())
        if (asset.path == "/index.html") names = asset.plain;
    bool index = false, hashed = false;
    for (auto const& asset : assets()) {
        auto const bytes = asset.gzip.empty() ? asset.plain.size() : asset.gzip.size();
        if (asset.path == "/index.html" || names.find(asset.path) != names.npos ||
            asset.type == "font/woff2")
            shell += bytes;
        else
            largest = std::max(largest, bytes);
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
    EXPECT_GT(shell, 40'000U) << "the type alone is 34 kB";
    EXPECT_LT(shell + largest, 100'000U);
}

}  // namespace
}  // namespace gw::serve
