// Every reply against the API's description, data/api/openapi.json.
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <future>
#include <nlohmann/json.hpp>
#include <regex>
#include <set>

#include "serve/api_fixture.hpp"

namespace gw::serve {
namespace {

// The story takes a second: it is reckoned once for all tests.
std::shared_future<Result<desk::DemoVisit>> const& visit() {
    static auto const once = std::async(std::launch::async, desk::demo_visit).share();
    return once;
}

class Api : public ApiCaller {
  protected:
    Api()
        : ApiCaller(
              app_at(testing::TempDir() + "/gaswright-api-test-of-nothing.db", visit(), false)) {}
    // What reckons must not outlive the tables that it reads.
    static void TearDownTestSuite() { visit().wait(); }
};

TEST_F(Api, TakesTheTicketOnce) {
    auto const path = "/api/v1/session";
    EXPECT_EQ(call(Method::post, path, R"({"ticket":"wrong"})").status, 401);
    EXPECT_EQ(call(Method::post, path, R"({"ticket":"word1"})", "text/plain").status, 415);
    EXPECT_EQ(call(Method::post, path, "{").status, 400);
    EXPECT_EQ(call(Method::post, path, R"({"ticket":7})").status, 400);
    auto const good = call(Method::post, path, R"({"ticket":"word1"})");
    EXPECT_EQ(good.status, 200);
    held(good, path, "post");
    auto const again = call(Method::post, path, R"({"ticket":"word1"})");
    EXPECT_EQ(again.status, 401);
    held(again, path, "post");
}

TEST_F(Api, TakesTheTicketFromTheAddress) {
    EXPECT_EQ(call(Method::head, "/?ticket=word1").status, 200) << "a HEAD spends nothing";
    EXPECT_EQ(get("/?ticket=wrong").status, 401);
    auto const in = get("/?ticket=word1");
    EXPECT_EQ(in.status, 303);
    EXPECT_EQ(in.header("location"), "/");
    EXPECT_NE(in.header("set-cookie").find("HttpOnly; SameSite=Strict"), std::string::npos);
    EXPECT_EQ(get("/?ticket=word1").status, 401);
    EXPECT_EQ(get("/").status, 200);
    cookie = in.header("set-cookie").substr(0, in.header("set-cookie").find(';'));
    EXPECT_EQ(get("/api/v1/health").status, 200);
}

TEST_F(Api, AnswersAsDescribed) {
    held(get("/api/v1/visit"), "/api/v1/visit");  // no session: a problem
    log_in();
    held(get("/api/v1/health"), "/api/v1/health");
    auto const outline = held(get("/api/v1/outline"), "/api/v1/outline")["data"];
    auto const missing = get("/api/v1/runs/none");
    EXPECT_EQ(missing.status, 404);
    held(missing, "/api/v1/runs/{id}");
    auto const told = held(get("/api/v1/visit"), "/api/v1/visit")["data"];
    EXPECT_EQ(told["runs"].size(), 36U);
    for (auto const& [name, value] : outline.items())
        if (name != "runs") {
            EXPECT_EQ(value, told[name]) << name;
        }
    ASSERT_EQ(outline["runs"].size(), 36U);
    for (std::size_t i = 0; i < 36; ++i) EXPECT_EQ(outline["runs"][i]["id"], told["runs"][i]["id"]);
    EXPECT_NE(told["notice"].get<std::string>().find("invented"), std::string::npos);
    for (auto const& run : told["runs"]) {
        auto const reply = get("/api/v1/runs/" + run["id"].get<std::string>());
        ASSERT_EQ(reply.status, 200) << run["id"];
        auto const detail = held(reply, "/api/v1/runs/{id}")["data"];
        for (auto const& detector : detail["detectors"]) {
            auto const n = detector["time_s"].size();
            EXPECT_LE(n, 4000U);
            EXPECT_EQ(detector["signal"].size(), n);
            EXPECT_EQ(detector["baseline"].size(), n);
        }
    }
}

TEST_F(Api, TellsTheStoryOnTheVisitLine) {
    log_in();
    auto const told = held(get("/api/v1/visit"), "/api/v1/visit")["data"];
    auto const verdicts = [&](char const* basis, char const* gas) {
        std::set<std::string> out;
        for (auto const& run : told["runs"])
            if (run["basis"] == basis && run["gas"] == gas)
                out.insert(run["verdict"].get<std::string>());
        return out;
    };
    using Set = std::set<std::string>;
    EXPECT_EQ(verdicts("as_found", "calibration"), Set{"meets"}) << "it believes what it was told";
    auto const found = verdicts("as_found", "proving");  // one run alone may leave it open
    EXPECT_TRUE(found.contains("fails") && !found.contains("meets"));
    EXPECT_EQ(verdicts("as_left", "proving"), Set{"meets"});
    EXPECT_EQ(verdicts("as_left", "line"), Set{"no_limit"});
    auto const& ledger = told["ledger"];
    EXPECT_EQ(ledger["open"], 0);
    EXPECT_EQ(ledger["statements"][0]["may_sign"], true);
    EXPECT_EQ(ledger["statements"][1]["may_sign"], false);
    std::string before;
    for (auto const& run : told["runs"]) {
        EXPECT_LE(before, run["at"].get<std::string>()) << "in order of time";
        before = run["at"].get<std::string>();
    }
}

TEST_F(Api, SaysWhatThereIsToStartWith) {
    EXPECT_EQ(get("/api/v1/start").status, 401);
    log_in();
    auto const start = held(get("/api/v1/start"), "/api/v1/start")["data"];
    EXPECT_EQ(start["user"], "A. Person");
    EXPECT_EQ(start["record"]["exists"], false);
    EXPECT_TRUE(start["open"].empty());
}

TEST_F(Api, TellsOfAJob) {
    log_in();
    EXPECT_EQ(held(get("/api/v1/jobs/7"), "/api/v1/jobs/{id}")["problem"]["code"], "not_found");
    std::promise<void> told;
    auto const ear = app.hub->listen([&told, once = std::make_shared<bool>(false)](auto event) {
        if (event->find("\"done\"") == std::string::npos || std::exchange(*once, true)) return;
        told.set_value();
    });
    auto const id = app.jobs->start("a sum", [](Jobs::Report const& report) -> Result<Json> {
        report(0.5, "half");
        return Json{{"sum", 7}};
    });
    ASSERT_EQ(told.get_future().wait_for(std::chrono::seconds(5)), std::future_status::ready);
    auto const job = held(get("/api/v1/jobs/" + id), "/api/v1/jobs/{id}")["data"];
    EXPECT_EQ(job["state"], "done");
    EXPECT_EQ(job["result"]["sum"], 7);
}

// The browser asks for a place by its address; which places there are, the page says.
TEST_F(Api, ServesEveryPlaceOfThePage) {
    std::ifstream file(std::string(GW_SOURCE_DIR) + "/web/src/shell/places.ts");
    std::string const text{std::istreambuf_iterator<char>(file), {}};
    std::regex const path("path: \"([^\"]+)\"");
    int places = 0;
    for (std::sregex_iterator at(text.begin(), text.end(), path), end; at != end; ++at, ++places) {
        auto const asked = std::regex_replace((*at)[1].str(), std::regex(":[a-z]+"), "x");
        auto const reply = get(asked);
        EXPECT_EQ(reply.status, 200) << asked;
        EXPECT_NE(reply.header("content-type").find("text/html"), std::string::npos) << asked;
    }
    EXPECT_GE(places, 6);
    EXPECT_EQ(get("/nowhere").status, 404);
}

TEST_F(Api, KeepsTheStreamOfEventsOpen) {
    EXPECT_EQ(get("/api/v1/events").status, 401);
    log_in();
    auto const reply = get("/api/v1/events");
    ASSERT_TRUE(reply.events);
    EXPECT_EQ(reply.header("content-type"), "text/event-stream");
    EXPECT_NE(reply.events->hello.find("event: hello\n"), std::string::npos);
    EXPECT_TRUE(reply.events->hello.ends_with("\n\n"));
    EXPECT_TRUE(reply.events->beat.ends_with("\n\n"));
}

TEST(SchemaCheckItself, FindsWhatIsWrong) {
    SchemaCheck check(
        Json::parse(R"({"s": {"type": "object", "additionalProperties": false, "required": ["a"],
        "properties": {"a": {"type": ["number", "null"]}, "b": {"type": "array", "items": {"enum": ["x"]}}}}})"));
    auto const schema = Json{{"$ref", "#/s"}};
    EXPECT_TRUE(check(Json::parse(R"({"a": null, "b": ["x"]})"), schema).empty());
    for (auto const* wrong :
         {R"({})", R"({"a": "1"})", R"({"a": 1, "c": 2})", R"({"a": 1, "b": ["y"]})", "[]"})
        EXPECT_FALSE(check(Json::parse(wrong), schema).empty()) << wrong;
    EXPECT_FALSE(check(1, Json{{"minimum", 3}}).empty()) << "a keyword it does not know";
}

}  // namespace
}  // namespace gw::serve
