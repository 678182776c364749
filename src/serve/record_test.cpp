// Visits by the API: opened, recorded in, looked at, by several hands at once and by hostile ones.
#include <gtest/gtest.h>

#include <condition_variable>
#include <mutex>

#include "serve/api_fixture.hpp"

namespace gw::serve {
namespace {

class RecordTest : public ApiFixture {
  protected:
    std::string id;

    void SetUp() override {
        ApiFixture::SetUp();
        auto const made = post("/api/v1/visits",
                               Json{{"plan", "exchange"},
                                    {"analyser", "PX-1"},
                                    {"site", "Nowhere"},
                                    {"by", "B. Person"}});
        ASSERT_EQ(made.status, 200) << made.body;
        id = held(made, "/api/v1/visits", "post")["data"]["visit"];
    }
    std::string at(std::string const& rest = "") { return "/api/v1/visits/" + id + rest; }
    Response act(std::string const& name, Json const& body) {
        auto const reply = post(at("/" + name), body);
        held(reply, "/api/v1/visits/{id}/" + name, "post");
        return reply;
    }
    Json standing() { return held(get(at()), "/api/v1/visits/{id}")["data"]; }
    Json step(std::string const& name) {
        auto const visit = standing();
        for (auto const& stage : visit["stages"])
            for (auto const& each : stage["steps"])
                if (each["name"] == name) return each;
        return nullptr;
    }
    Response file(std::string const& query, std::string bytes) {
        return call(
            Method::post, at("/file?" + query), std::move(bytes), "application/octet-stream");
    }
};

TEST_F(RecordTest, ShowsWhatWasOpened) {
    auto const list = held(get("/api/v1/visits"), "/api/v1/visits")["data"]["visits"];
    ASSERT_EQ(list.size(), 1U);
    EXPECT_EQ(list[0]["visit"], id);
    EXPECT_EQ(list[0]["invented"], false);
    auto const visit = standing();
    EXPECT_EQ(visit["now"]["step"], "instruments in date") << "a note holds nothing up";
    EXPECT_EQ(visit["stages"].size(), 12U);
    EXPECT_EQ(visit["ways_offered"].size(), 3U);
    auto const judged = held(get(at("/judged")), "/api/v1/visits/{id}/judged")["data"];
    EXPECT_EQ(judged["may_sign"]["work"], false);
    EXPECT_FALSE(judged["ledger"].empty());
    EXPECT_EQ(held(get("/api/v1/plans"), "/api/v1/plans")["data"]["plans"].size(), 6U);
    EXPECT_EQ(get("/api/v1/visits/none").status, 404);
}

// Nobody who answers is kept by them: after an entry they are made ahead, and windows are told.
TEST_F(RecordTest, MakesFindingsAheadAndTellsOfThem) {
    std::mutex guard;
    std::condition_variable news;
    std::int64_t told = 0;
    auto const ear = app.hub->listen([&](std::shared_ptr<std::string const> const& event) {
        if (event->rfind("event: judged\n", 0) != 0) return;
        auto const data = Json::parse(event->substr(event->find("data: ") + 6));
        std::lock_guard const lock(guard);
        EXPECT_EQ(data["visit"], id);
        told = std::max(told, data["last_entry"].get<std::int64_t>());
        news.notify_all();
    });
    auto const heard = [&](std::int64_t entry) {
        std::unique_lock lock(guard);
        return news.wait_for(lock, std::chrono::seconds(20), [&] { return told >= entry; });
    };
    auto const judging = [&] {
        return held(get(at("/judging")), "/api/v1/visits/{id}/judging")["data"];
    };
    auto const before = judging();  // opened, and not judged: this begins it
    EXPECT_TRUE(before["judged_to"].is_null() || before["judged_to"] == before["last_entry"]);
    ASSERT_TRUE(heard(before["last_entry"].get<std::int64_t>()));
    auto const added =
        act("record", Json{{"stage", "prepare"}, {"step", "reason"}, {"value", "reads low"}});
    ASSERT_EQ(added.status, 200) << added.body;
    auto const entry = Json::parse(added.body)["data"]["recorded"]["entry"].get<std::int64_t>();
    ASSERT_TRUE(heard(entry)) << "without being asked for";
    auto const after = judging();
    EXPECT_EQ(after["last_entry"], entry);
    EXPECT_EQ(after["judged_to"], entry);
    EXPECT_EQ(held(get(at("/judged")), "/api/v1/visits/{id}/judged")["data"]["last_entry"], entry);
    EXPECT_EQ(get("/api/v1/visits/none/judging").status, 404);
}

TEST_F(RecordTest, RecordsAndTakesBack) {
    auto const made = act("record",
                          Json{{"stage", "prepare"},
                               {"step", "reason"},
                               {"value", "reads low"},
                               {"by", "C. Person"},
                               {"seen", standing()["last_entry"]}});
    ASSERT_EQ(made.status, 200) << made.body;
    auto const reply = Json::parse(made.body)["data"];
    EXPECT_EQ(reply["visit"]["now"]["step"], "instruments in date");
    EXPECT_EQ(step("reason")["state"], "done");
    EXPECT_EQ(step("reason")["evidence"][0]["by"], "C. Person");
    ASSERT_EQ(act("undo", Json{{"entry", reply["recorded"]["entry"]}}).status, 200);
    EXPECT_EQ(step("reason")["state"], "open");
    EXPECT_EQ(act("interrupt", Json{{"reason", "night"}}).status, 200);
    EXPECT_EQ(standing()["interrupted_because"], "night");
    EXPECT_EQ(act("resume", Json::object()).status, 200);
    EXPECT_EQ(act("back", Json{{"to", "stop and make safe"}, {"reason", "storm"}}).status, 200);
    EXPECT_EQ(act("end", Json{{"as", "abandoned"}, {"reason", "storm"}}).status, 200);
    EXPECT_EQ(standing()["end"]["as"], "abandoned");
}

TEST_F(RecordTest, LosesNoEditOfAnotherWindow) {
    auto const seen = standing()["last_entry"];
    auto const body = [&](char const* step, char const* who) {
        return Json{
            {"stage", "prepare"}, {"step", step}, {"value", "seen"}, {"by", who}, {"seen", seen}};
    };
    EXPECT_EQ(act("record", body("reason", "A")).status, 200);
    auto const refused = act("record", body("instruments in date", "B"));
    EXPECT_EQ(refused.status, 409);
    auto const problem = Json::parse(refused.body)["problem"];
    EXPECT_EQ(problem["code"], "grown");
    ASSERT_EQ(problem["between"].size(), 1U);
    EXPECT_EQ(problem["between"][0]["who"], "A");
    EXPECT_EQ(problem["between"][0]["step"], "reason");
    EXPECT_EQ(step("instruments in date")["state"], "open") << "nothing of it was written";
}

TEST_F(RecordTest, KeepsFilesAndGivesThemBackAsData) {
    std::string const picture = "\x89PNG\r\n\x1a\n and the rest";
    auto const made =
        file("stage=prepare&step=reason&as=aside&name=label.png&by=A.%20Person", picture);
    ASSERT_EQ(made.status, 200) << made.body;
    held(made, "/api/v1/visits/{id}/file", "post");
    auto const kept = step("reason")["evidence"][0];
    EXPECT_EQ(step("reason")["state"], "open");
    auto const back = get(at("/evidence/" + kept["sha256"].get<std::string>()));
    EXPECT_EQ(back.status, 200);
    EXPECT_EQ(back.header("content-type"), "image/png");
    EXPECT_EQ(back.body, picture);
    EXPECT_NE(back.header("content-security-policy").find("sandbox"), std::string::npos);

    std::string const page = "<html><script>alert(1)</script>";
    ASSERT_EQ(file("stage=prepare&step=reason&as=aside&name=label.png", page).status, 200);
    auto const hostile = step("reason")["evidence"][1];
    auto const given = get(at("/evidence/" + hostile["sha256"].get<std::string>()));
    EXPECT_EQ(given.header("content-type"), "application/octet-stream");
    EXPECT_EQ(given.header("content-disposition").substr(0, 10), "attachment");
    EXPECT_EQ(given.header("x-content-type-options"), "nosniff");
}

TEST_F(RecordTest, GivesNoFileThatTheVisitDoesNotName) {
    auto const plan = standing()["plan_sha256"].get<std::string>();
    EXPECT_EQ(get(at("/evidence/" + plan)).status, 200);
    EXPECT_EQ(get(at("/evidence/" + std::string(64, '0'))).status, 404);
    EXPECT_EQ(get(at("/evidence/..%2f..%2fetc%2fpasswd")).status, 400);
    EXPECT_EQ(get(at("/evidence/passwd")).status, 404);
    auto const other = post("/api/v1/visits", Json{{"plan", "fault_call"}, {"analyser", "PX-2"}});
    auto const second = Json::parse(other.body)["data"]["visit"].get<std::string>();
    EXPECT_EQ(get("/api/v1/visits/" + second + "/evidence/" + plan).status, 404)
        << "a file of another visit";
}

TEST_F(RecordTest, RefusesWhatIsNoRunAndChangesNothing) {
    auto const before = standing()["last_entry"];
    for (auto const* bytes :
         {"", "\xff\xfe\x01", "time_s,signal\n1,two\n", "{\"a\":", "PK\x03\x04"}) {
        auto const reply =
            file("stage=as%20found&step=line%20gas%20as%20found&as=run&name=x.csv", bytes);
        EXPECT_TRUE(reply.status == 400 || reply.status == 422) << reply.status << reply.body;
        auto const said = held(reply, "/api/v1/visits/{id}/file", "post")["problem"];
        EXPECT_FALSE(said["what"].get<std::string>().empty());
    }
    EXPECT_EQ(file("stage=prepare&step=reason&as=program&name=x", "x").status, 400);
    EXPECT_EQ(file("stage=prepare&step=reason&as=file&seen=x&name=x", "x").status, 400);
    EXPECT_EQ(file("stage=prepare&step=none&as=file&name=x", "x").status, 404);
    EXPECT_EQ(file("stage=prepare&step=calibration%20certificate&as=file&name=x", "{}").status,
              400);
    EXPECT_EQ(standing()["last_entry"], before);
}

TEST_F(RecordTest, RefusesBodiesThatAreNotWhatTheyShouldBe) {
    auto const before = standing()["last_entry"];
    for (auto const* body : {"",
                             "[]",
                             "null",
                             "{\"stage\": \"prepare\"}",
                             "{\"stage\": 1, \"step\": 2}",
                             "{\"a\": 1, \"a\": 2}",
                             R"({"stage":"prepare","step":"reason","value":"x","tep":"y"})",
                             R"({"stage":"prepare","step":"reason","value":"x","at":"yesterday"})",
                             R"({"stage":"prepare","step":"reason","value":"x","seen":"all"})",
                             R"({"stage":"prepare","step":"reason"})"}) {
        auto const reply = call(Method::post, at("/record"), body);
        EXPECT_EQ(reply.status, 400) << body << reply.body;
        held(reply, "/api/v1/visits/{id}/record", "post");
    }
    EXPECT_EQ(call(Method::post, at("/record"), "{}", "text/plain").status, 400)
        << "a form of another site can send no JSON";
    EXPECT_EQ(standing()["last_entry"], before);
    EXPECT_EQ(post("/api/v1/visits", Json{{"plan", "none"}, {"analyser", "PX-1"}}).status, 404);
    EXPECT_EQ(post("/api/v1/visits", Json{{"plan", "exchange"}, {"analyser", ""}}).status, 400);
}

TEST_F(RecordTest, SaysWhatAFileIsAndTurnsATable) {
    auto const look = call(Method::post,
                           "/api/v1/files/look?name=x.csv",
                           "when;what\na;1\nb;2\nc;3\n",
                           "application/octet-stream");
    auto const kind = held(look, "/api/v1/files/look", "post")["data"];
    EXPECT_EQ(kind["kind"], "table");
    std::string table = "when;what\n";
    for (int i = 0; i < 40; ++i)
        table += std::to_string(i) + ",5;" + std::to_string(i % 3) + ",25\n";
    auto const turn = [&](std::string const& query) {
        auto const reply = call(Method::post,
                                "/api/v1/files/convert?name=x.csv&delimiter=semicolon&" + query,
                                table,
                                "application/octet-stream");
        held(reply, "/api/v1/files/convert", "post");
        return reply;
    };
    EXPECT_EQ(turn("mark=comma&first_row=2&time=0&signals=1").status, 200);
    for (auto const* wrong : {"mark=comma&first_row=1&time=0&signals=1",
                              "mark=comma&first_row=-1&time=0&signals=1",
                              "mark=comma&first_row=2&time=1e300&signals=1",
                              "mark=comma&first_row=2&time=0&signals=",
                              "mark=comma&first_row=2&time=0&signals=1,x",
                              "mark=point&first_row=2&time=0&signals=1"})
        EXPECT_EQ(turn(wrong).status, 400) << wrong;
}

TEST_F(RecordTest, AsksKnownPeopleForTheRoleOfAStep) {
    EXPECT_TRUE(held(get("/api/v1/people"), "/api/v1/people")["data"]["people"].empty());
    auto const made =
        post("/api/v1/people", Json{{"name", "M. Helper"}, {"roles", Json::array({"mechanical"})}});
    auto const people = held(made, "/api/v1/people", "post")["data"]["people"];
    ASSERT_EQ(people.size(), 1U);
    EXPECT_EQ(people[0]["roles"][0], "mechanical");
    for (auto const& wrong : {Json{{"name", ""}, {"roles", Json::array()}},
                              Json{{"name", "X"}},
                              Json{{"name", "X"}, {"roles", Json::array({1})}}})
        EXPECT_EQ(post("/api/v1/people", wrong).status, 400) << wrong;
    auto const refused = act("record",
                             Json{{"stage", "make safe"},
                                  {"step", "power off and locked"},
                                  {"value", "off"},
                                  {"by", "M. Helper"}});
    EXPECT_EQ(refused.status, 409) << refused.body;
}

TEST_F(RecordTest, KeepsAScriptAsTheTextThatItIs) {
    std::string const script = "<img src=x onerror=alert(1)>\"'&</script>";
    ASSERT_EQ(act("record",
                  Json{{"stage", "prepare"},
                       {"step", "reason"},
                       {"value", script},
                       {"note", script},
                       {"with", script},
                       {"by", script}})
                  .status,
              200);
    auto const kept = step("reason")["evidence"][0];
    for (auto const* field : {"value", "note", "with", "by"}) EXPECT_EQ(kept[field], script);
}

TEST_F(RecordTest, WantsSessionAndOriginForEveryAct) {
    auto const session = cookie;
    cookie.clear();
    EXPECT_EQ(get(at()).status, 401);
    EXPECT_EQ(act("record", Json::object()).status, 401);
    cookie = session;
    Request request;
    request.method = Method::post;
    request.target = at("/record");
    request.headers = {{"host", "127.0.0.1:4711"}, {"cookie", cookie}};
    EXPECT_EQ(site.answer(request).status, 403);
    request.headers.emplace_back("origin", "http://evil.example");
    EXPECT_EQ(site.answer(request).status, 403);
}

TEST_F(RecordTest, LetsOnlyAFileBeLong) {
    Request head;
    head.method = Method::post;
    head.headers = {{"host", "127.0.0.1:4711"}, {"cookie", cookie}};
    head.target = at("/file?stage=a&step=b&as=file&name=c");
    EXPECT_EQ(site.longest_body(head), longest_file);
    head.target = at("/record");
    EXPECT_LT(site.longest_body(head), 100'000U);
    head.target = at("/file");
    head.headers.pop_back();
    EXPECT_EQ(site.longest_body(head), longest_stranger) << "without a session";
}

TEST_F(RecordTest, TellsTheWindowsOfEveryEntry) {
    std::vector<std::string> heard;
    auto const ear = app.hub->listen([&](auto event) { heard.push_back(*event); });
    ASSERT_EQ(act("record", Json{{"stage", "prepare"}, {"step", "reason"}, {"value", "x"}}).status,
              200);
    ASSERT_FALSE(heard.empty());
    EXPECT_NE(heard.back().find(id), std::string::npos);
}

}  // namespace
}  // namespace gw::serve
