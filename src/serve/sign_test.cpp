// The invented visit played to its end by the API, signed by two people, handed over.
#include <gtest/gtest.h>

#include "serve/api_fixture.hpp"

namespace gw::serve {
namespace {

class SignTest : public ApiFixture {
  protected:
    std::string id;

    std::string at(std::string const& rest = "") { return "/api/v1/visits/" + id + rest; }
    Json standing() { return held(get(at()), "/api/v1/visits/{id}")["data"]; }
    Json judged() { return held(get(at("/judged")), "/api/v1/visits/{id}/judged")["data"]; }

    void play() {
        id = held(post("/api/v1/demo", Json::object()), "/api/v1/demo", "post")["data"]["visit"];
        auto const visit = standing();
        for (auto const& stage : visit["stages"]) {
            auto const reply = post(at("/demo"), Json{{"stage", stage["name"]}});
            ASSERT_EQ(reply.status, 200) << stage["name"] << reply.body;
            held(reply, "/api/v1/visits/{id}/demo", "post");
        }
    }
    std::string key(char const* name) {
        auto const made =
            post("/api/v1/keys", Json{{"name", name}, {"passphrase", "a long enough word"}});
        return held(made, "/api/v1/keys", "post")["data"]["fingerprint"];
    }
    Response sign(std::string const& key, char const* as, Json const& more = Json::object()) {
        Json body{{"key", key}, {"passphrase", "a long enough word"}, {"as", as}};
        body.update(more);
        auto const reply = post(at("/sign"), body);
        held(reply, "/api/v1/visits/{id}/sign", "post");
        return reply;
    }
};

TEST_F(SignTest, PlaysTheDemonstrationToBothSignatures) {
    play();
    auto const visit = standing();
    EXPECT_EQ(visit["invented"], true);
    EXPECT_EQ(get("/api/v1/start").body.find("\"exists\":true"), std::string::npos)
        << "nothing invented is in the own record";
    auto const before = judged();
    EXPECT_EQ(before["may_sign"]["work"], true) << before["ledger"].dump(1);
    EXPECT_EQ(before["may_sign"]["conformity"], true) << before["ledger"].dump(1);
    EXPECT_EQ(before["line"]["marks"].size(), 36U);

    auto const technician = key("A. Person"), reviewer = key("B. Person");
    EXPECT_EQ(held(get("/api/v1/keys"), "/api/v1/keys")["data"]["keys"].size(), 2U);
    EXPECT_EQ(sign(technician, "work", Json{{"passphrase", "wrong wrong"}}).status, 400);
    EXPECT_EQ(sign(std::string(64, '0'), "work").status, 404);
    EXPECT_EQ(sign(technician, "all").status, 400);
    EXPECT_EQ(sign(technician, "work", Json{{"seen", 1}}).status, 409) << "of what was not seen";
    auto const signed_one = sign(technician, "work", Json{{"reservations", Json::array({"rain"})}});
    ASSERT_EQ(signed_one.status, 200) << signed_one.body;
    ASSERT_EQ(sign(reviewer, "conformity").status, 200);
    auto const after = judged();
    ASSERT_EQ(after["signatures"].size(), 2U);
    for (auto const& signature : after["signatures"]) EXPECT_EQ(signature["valid"], true);
    EXPECT_EQ(after["signatures"][0]["reservations"][0], "rain");

    auto const pdf = get(at("/handover.pdf"));
    EXPECT_EQ(pdf.status, 200);
    EXPECT_EQ(pdf.body.substr(0, 5), "%PDF-");
    auto const html = get(at("/handover.html"));
    EXPECT_EQ(html.status, 200);
    auto const policy = html.header("content-security-policy");
    EXPECT_NE(policy.find("style-src 'sha256-"), std::string::npos);
    EXPECT_EQ(policy.find("unsafe"), std::string::npos);

    auto const bundle =
        post(at("/bundle"), Json{{"key", technician}, {"passphrase", "a long enough word"}});
    ASSERT_EQ(bundle.status, 200) << bundle.body.substr(0, 200);
    EXPECT_EQ(bundle.header("content-type"), "application/zip");
    auto const take = [&](std::string bytes, std::string const& query) {
        auto const reply = call(Method::post,
                                "/api/v1/bundles?name=visit.zip" + query,
                                std::move(bytes),
                                "application/octet-stream");
        return held(reply, "/api/v1/bundles", "post")["data"];
    };
    auto damaged = bundle.body;
    damaged[damaged.size() / 2] = static_cast<char>(damaged[damaged.size() / 2] ^ 1);
    EXPECT_EQ(take(damaged, "&keep=yes")["intact"], false);
    EXPECT_FALSE(app.books->exists(Book::own)) << "a damaged bundle changes nothing";
    auto const looked = take(bundle.body, "");
    EXPECT_EQ(looked["intact"], true);
    EXPECT_TRUE(looked["imported"].is_null());
    auto const kept = take(bundle.body, "&keep=yes");
    EXPECT_GT(kept["imported"]["added"], 70);
}

TEST_F(SignTest, MakesNoKeyThatAnybodyCouldGuess) {
    for (auto const& body : {Json{{"name", ""}, {"passphrase", "a long enough word"}},
                             Json{{"name", "A"}, {"passphrase", ""}},
                             Json{{"name", "A"}, {"passphrase", "short"}}})
        EXPECT_EQ(post("/api/v1/keys", body).status, 400) << body;
    EXPECT_TRUE(app.keys->keys().empty());
    key("../../A. Person");
    ASSERT_EQ(app.keys->keys().size(), 1U);
    EXPECT_EQ(std::filesystem::path(app.keys->keys()[0].path).parent_path(), folder / "keys");
    EXPECT_EQ(get("/api/v1/keys").body.find("a long enough word"), std::string::npos);
}

TEST_F(SignTest, HandsNothingInventedIntoAnOwnVisit) {
    auto const made = post("/api/v1/visits", Json{{"plan", "exchange"}, {"analyser", "PX-1"}});
    id = Json::parse(made.body)["data"]["visit"];
    EXPECT_EQ(post(at("/demo"), Json{{"stage", "prepare"}}).status, 409);
    EXPECT_EQ(post(at("/demo"), Json::object()).status, 400);
    EXPECT_EQ(sign(key("A. Person"), "work").status, 409) << "an empty visit signs nothing";
    EXPECT_EQ(get("/api/v1/visits/none/handover.pdf").status, 404);
}

}  // namespace
}  // namespace gw::serve
