#include "serve/site.hpp"

#include <gtest/gtest.h>

#include <stdexcept>

namespace gw::serve {
namespace {

class SiteTest : public testing::Test {
  protected:
    static constexpr std::uint16_t port = 4711;
    int drawn = 0;
    Sessions sessions{[this] { return "word" + std::to_string(++drawn); }};  // word1 is the ticket
    Site site{made(), sessions, port};

    static Routes made() {
        Routes routes;
        auto const ok = [](Request const& r) {
            return json(Json(r.params.contains("id") ? r.params.at("id") : r.path()));
        };
        routes.get("/", ok, Effect::shows);
        routes.get("/assets/a.js", ok, Effect::shows);
        routes.get("/api/read/{id}", ok);
        routes.post("/api/write", ok);
        routes.post("/api/open", ok, Effect::opens_session);
        routes.get("/api/fault", [](Request const&) -> Response { throw std::runtime_error("x"); });
        return routes;
    }
    std::string session() { return *sessions.exchange("word1"); }
    static Request get(std::string target, std::string const& session = "") {
        Request out;
        out.target = std::move(target);
        out.headers = {{"host", "127.0.0.1:4711"}};
        if (!session.empty())
            out.headers.emplace_back("cookie", "other=1; gaswright_4711=" + session);
        return out;
    }
};

TEST_F(SiteTest, ShowsThePageWithoutASessionAndNothingElse) {
    EXPECT_EQ(site.answer(get("/")).status, 200);
    EXPECT_EQ(site.answer(get("/assets/a.js")).status, 200);
    EXPECT_EQ(site.answer(get("/api/read/1")).status, 401);
    EXPECT_EQ(site.answer(get("/api/none")).status, 401) << "tells nothing about what exists";
    EXPECT_EQ(site.answer(get("/api/read/1", "word1")).status, 401) << "a ticket is no session";
    auto const s = session();
    EXPECT_EQ(site.answer(get("/api/read/1", s)).status, 200);
    EXPECT_EQ(site.answer(get("/api/read/1", s + "x")).status, 401);
    EXPECT_EQ(site.answer(get("/api/none", s)).status, 404);
    EXPECT_EQ(site.answer(get("/none")).status, 404);
    EXPECT_EQ(site.answer(get("/index.php")).status, 404);
}

TEST_F(SiteTest, SendsItsHeadersWithEveryAnswer) {
    for (auto const* target : {"/", "/none", "/../x", "/api/read/1"}) {
        auto const reply = site.answer(get(target));
        auto const policy = reply.header("content-security-policy");
        EXPECT_NE(policy.find("default-src 'self'"), std::string::npos) << target;
        EXPECT_EQ(policy.find("unsafe"), std::string::npos) << target;
        EXPECT_EQ(reply.header("referrer-policy"), "no-referrer") << target;
        EXPECT_EQ(reply.header("x-content-type-options"), "nosniff") << target;
    }
}

TEST_F(SiteTest, SpendsATicketOnce) {
    EXPECT_FALSE(sessions.exchange("wrong"));
    EXPECT_FALSE(sessions.exchange(""));
    EXPECT_TRUE(sessions.exchange("word1"));
    EXPECT_FALSE(sessions.exchange("word1"));
    EXPECT_FALSE(sessions.knows(""));
}

TEST_F(SiteTest, RefusesAForeignHost) {
    auto const s = session();
    for (auto const* host : {"evil.example",
                             "127.0.0.1",
                             "127.0.0.1:80",
                             "localhost",
                             "",
                             "127.0.0.1:4711.evil.example"}) {
        auto request = get("/api/read/1", s);
        request.headers[0].second = host;
        EXPECT_EQ(site.answer(request).status, 403) << host;
    }
    auto request = get("/");
    request.headers.clear();
    EXPECT_EQ(site.answer(request).status, 403) << "no Host at all";
    request = get("/");
    request.headers.emplace_back("host", "evil.example");
    EXPECT_EQ(site.answer(request).status, 400) << "two of them";
    request = get("/");
    request.headers[0].second = "localhost:4711";
    EXPECT_EQ(site.answer(request).status, 200);
}

TEST_F(SiteTest, RefusesAForeignOrigin) {
    auto const s = session();
    for (auto const* origin :
         {"http://evil.example", "null", "https://127.0.0.1:4711", "http://127.0.0.1:80", ""}) {
        auto request = get("/api/read/1", s);
        request.headers.emplace_back("origin", origin);
        EXPECT_EQ(site.answer(request).status, 403) << origin;
    }
    auto own = get("/api/read/1", s);
    own.headers.emplace_back("origin", "http://127.0.0.1:4711");
    EXPECT_EQ(site.answer(own).status, 200);
    auto crossing = get("/api/read/1", s);
    crossing.headers.emplace_back("sec-fetch-site", "cross-site");
    EXPECT_EQ(site.answer(crossing).status, 403);
}

TEST_F(SiteTest, WantsAnOriginForAChange) {
    auto request = get("/api/write", session());
    request.method = Method::post;
    EXPECT_EQ(site.answer(request).status, 403);
    request.headers.emplace_back("origin", "http://127.0.0.1:4711");
    EXPECT_EQ(site.answer(request).status, 200);
    request = get("/api/open");
    request.method = Method::post;
    EXPECT_EQ(site.answer(request).status, 200) << "the ticket is proof enough";
}

TEST_F(SiteTest, RefusesOtherMethods) {
    auto request = get("/");
    request.method = Method::other;
    EXPECT_EQ(site.answer(request).status, 405);
    EXPECT_EQ(site.answer(request).header("allow"), "GET, HEAD, POST");
    request.method = Method::post;
    EXPECT_EQ(site.answer(request).status, 405);
    request.method = Method::head;
    EXPECT_EQ(site.answer(request).status, 200);
}

TEST_F(SiteTest, RefusesTricksInThePath) {
    for (auto const* target :
         {"/../etc/passwd", "/%2e%2e/x", "//x", "/assets/%00", "/assets\\a.js"})
        EXPECT_EQ(site.answer(get(target)).status, 400) << target;
    EXPECT_EQ(site.answer(get("/" + std::string(5000, 'a'))).status, 400);
    EXPECT_EQ(site.answer(get("/assets/a.js/")).status, 404);
}

TEST_F(SiteTest, SurvivesAFaultOfAHandler) {
    EXPECT_EQ(site.answer(get("/api/fault", session())).status, 500);
}

TEST_F(SiteTest, FillsTheBracesOfARoute) {
    auto const reply = site.answer(get("/api/read/as%20left", session()));
    EXPECT_NE(reply.body.find("\"as left\""), std::string::npos);
}

}  // namespace
}  // namespace gw::serve
