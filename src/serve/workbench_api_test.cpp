// Look, sums, traces, twins, histories, register: every reply against its description, and what is
// hostile refused in a sentence.
#include <gtest/gtest.h>

#include <cstring>
#include <nlohmann/json.hpp>

#include "base/hash.hpp"
#include "desk/examples.hpp"
#include "desk/visit.hpp"
#include "serve/api_fixture.hpp"

namespace gw::serve {
namespace {

std::string example(char const* name) { return *desk::example_text(name); }

class Workbench : public ApiFixture {
  protected:
    Response upload(std::string target, std::string bytes) {
        return call(Method::post, std::move(target), std::move(bytes), "application/octet-stream");
    }
    /// What was answered, after it was held against its description.
    Json data(Response const& reply, std::string const& path, std::string const& method = "post") {
        EXPECT_EQ(reply.status, 200) << reply.body.substr(0, 300);
        EXPECT_TRUE(agrees.document()["paths"].contains(path)) << path;
        auto body = held(reply, path, method);
        return body.contains("data") ? body["data"] : Json();
    }
    Json problem_of(Response const& reply, std::string const& path) {
        EXPECT_GE(reply.status, 400);
        return held(reply, path, "post")["problem"];
    }
};

std::uint32_t count_of(Response const& reply) {
    std::uint32_t n = 0;
    if (reply.body.size() >= sizeof n) std::memcpy(&n, reply.body.data(), sizeof n);
    return n;
}

TEST_F(Workbench, GivesExamples) {
    auto const list = data(get("/api/v1/examples"), "/api/v1/examples", "get");
    for (auto const& one : list["examples"]) {
        auto const path = "/api/v1/examples/" + one["name"].get<std::string>();
        auto const text = data(get(path), "/api/v1/examples/{name}", "get");
        EXPECT_FALSE(text["text"].get<std::string>().empty());
    }
    EXPECT_EQ(get("/api/v1/examples/none").status, 404);
}

TEST_F(Workbench, LooksAtAReport) {
    auto const path = "/api/v1/look";
    auto const answer = data(post(path, {{"report", example("printed_report.csv")}}), path);
    EXPECT_EQ(answer["look"]["verdict"], "fails");
    EXPECT_EQ(answer["look"]["suspects"].size(), 3U);
    EXPECT_TRUE(answer["faults"].empty());
    auto const with = data(post(path,
                                {{"report", example("printed_report.csv")},
                                 {"cylinder", example("calibration_gas.json")}}),
                           path);
    EXPECT_FALSE(with["look"].is_null());
    auto const wrong = data(
        post(path, {{"report", "component;mole_percent\nmethane;9o\ngold;1\nethane;5\n"}}), path);
    EXPECT_TRUE(wrong["look"].is_null());
    ASSERT_EQ(wrong["faults"].size(), 2U);
    EXPECT_EQ(wrong["faults"][0]["line"], 2);
    EXPECT_EQ(wrong["faults"][1]["line"], 3);
}

TEST_F(Workbench, RefusesHostileReports) {
    auto const path = "/api/v1/look";
    for (auto const& body :
         {Json::object(),
          Json{{"report", 7}},
          Json{{"report", "x"}, {"criteria", "/etc/passwd"}},
          Json{{"report", example("printed_report.csv")}, {"cylinder", "{\"a\":"}},
          Json{{"report", example("printed_report.csv")}, {"on", "yesterday"}}}) {
        auto const reply = post(path, body);
        held(reply, path, "post");
        EXPECT_TRUE(reply.status == 400 || reply.status == 404) << body.dump().substr(0, 80);
    }
    EXPECT_EQ(call(Method::post, path, "{}", "text/plain").status, 400);
    cookie.clear();
    EXPECT_EQ(post(path, {{"report", "x"}}).status, 401) << "no session";
}

TEST_F(Workbench, WorksSumsOut) {
    auto const list = data(get("/api/v1/sums"), "/api/v1/sums", "get");
    EXPECT_GE(list["sums"].size(), 10U);
    Json const inputs{
        {"volume", 50}, {"p1", 400}, {"p2", 399}, {"t1", 20}, {"t2", 20}, {"time", 30}};
    auto const answer =
        data(post("/api/v1/sums/leak", {{"inputs", inputs}, {"show", {{"leak_rate", "Pa m3/s"}}}}),
             "/api/v1/sums/{name}");
    EXPECT_EQ(answer["results"][0]["key"], "leak_rate");
    EXPECT_EQ(answer["results"][0]["unit"], "Pa m3/s");
    auto const sheet =
        data(post("/api/v1/sums/leak/sheet", {{"inputs", inputs}}), "/api/v1/sums/{name}/sheet");
    EXPECT_NE(sheet["text"].get<std::string>().find("gaswright.bench-leak/1"), std::string::npos);
    auto const refused =
        problem_of(post("/api/v1/sums/leak", {{"inputs", {{"volume", "50 furlongs"}}}}),
                   "/api/v1/sums/{name}");
    EXPECT_EQ(refused["where"], "volume");
    EXPECT_EQ(post("/api/v1/sums/none", {{"inputs", Json::object()}}).status, 404);
    EXPECT_EQ(post("/api/v1/sums/leak", Json::object()).status, 400);
    EXPECT_EQ(post("/api/v1/sums/leak", {{"inputs", {{"volume", HUGE_VAL}}}}).status, 400);
}

TEST_F(Workbench, OpensATraceAndGivesItsStretches) {
    auto const csv = example("line_gas_as_left.csv");
    auto const shown = data(upload("/api/v1/traces?name=run%201.csv", csv), "/api/v1/traces");
    auto const id = shown["id"].get<std::string>();
    EXPECT_EQ(shown["name"], "run 1.csv");
    EXPECT_EQ(data(get("/api/v1/traces/" + id), "/api/v1/traces/{id}", "get"), shown);
    auto const named =
        data(post("/api/v1/traces/" + id + "/names", {{"method", example("method.json")}}),
             "/api/v1/traces/{id}/names");
    EXPECT_EQ(named["peaks"][1]["component"], "methane");
    EXPECT_NE(named["id"], id);
    auto const stretch = get("/api/v1/traces/" + id + "/stretch?from=10&to=30&most=400");
    EXPECT_EQ(stretch.header("content-type"), "application/octet-stream");
    EXPECT_LE(count_of(stretch), 400U);
    EXPECT_EQ(stretch.body.size(), 8 + 24 * count_of(stretch));
    for (auto const* query : {"?detector=9", "?from=x", "?from=5&to=5", "?detector=-1"})
        EXPECT_GE(get("/api/v1/traces/" + id + "/stretch" + query).status, 400) << query;
    for (auto const* format : {"csv", "svg", "png"})
        EXPECT_GT(get("/api/v1/traces/" + id + "/export?format=" + format).body.size(), 1000U);
    EXPECT_EQ(get("/api/v1/traces/" + id + "/export?format=exe").status, 400);
}

TEST_F(Workbench, OpensTheEvidenceOfAVisit) {
    auto const csv = example("line_gas_as_left.csv");
    auto const sha = sha256(csv);
    EXPECT_EQ(get("/api/v1/traces/" + sha).status, 404);
    {
        auto const store = app.books->write(Book::own);
        ASSERT_TRUE(store);
        visit::Act const act{"A. Person", app.now(), std::nullopt};
        auto const id = desk::start_visit(**store, {"exchange", "PX", "", "", "", ""}, act);
        ASSERT_TRUE(id) << id.error().what;
        desk::VisitAdd add;
        add.request.stage = "prepare", add.request.step = "reason", add.request.aside = true;
        add.file_path = "run.csv", add.bytes = csv;
        auto const added = desk::add_to_visit(**store, *id, add, act);
        ASSERT_TRUE(added) << added.error().what;
    }
    auto const shown = data(get("/api/v1/traces/" + sha), "/api/v1/traces/{id}", "get");
    EXPECT_EQ(shown["trace_hash"], sha);
    auto const tailed = get("/api/v1/traces/" + sha + "-0123456789abcdef");
    EXPECT_EQ(data(tailed, "/api/v1/traces/{id}", "get")["trace_hash"], sha);
}

TEST_F(Workbench, TakesAPeakByHand) {
    auto const shown = data(upload("/api/v1/traces?name=run.csv", example("line_gas_as_left.csv")),
                            "/api/v1/traces");
    auto const base = "/api/v1/traces/" + shown["id"].get<std::string>() + "/hand";
    auto const& own = shown["peaks"][1];
    Json ends{{"detector", own["detector"]}, {"start_s", own["start_s"]}, {"end_s", own["end_s"]}};
    auto const hand = data(post(base, ends), "/api/v1/traces/{id}/hand");
    EXPECT_EQ(hand["area_found"], own["area"]);
    EXPECT_EQ(post(base + "/sheet", ends).status, 400) << "no reason";
    ends["reason"] = "cut by the valve";
    auto const sheet = data(post(base + "/sheet", ends), "/api/v1/traces/{id}/hand/sheet");
    EXPECT_EQ(Json::parse(sheet["text"].get<std::string>())["by"], "A. Person");
    ends["end_s"] = 1e9;
    auto const refused = held(post(base, ends), "/api/v1/traces/{id}/hand", "post")["problem"];
    EXPECT_EQ(refused["where"], "end_s");
}

TEST_F(Workbench, RefusesHostileTraces) {
    for (auto const& bytes : {std::string(),
                              std::string("\x89PNG\r\n\x1a\n"),
                              std::string(200000, '\0'),
                              std::string("CDF\x01", 4) + std::string(8, '\xff'),
                              std::string("time_s,signal\n0,1\n1,nan\n"),
                              std::string("<script>alert(1)</script>"),
                              example("printed_report.csv")}) {
        auto const reply = upload("/api/v1/traces?name=x", bytes);
        held(reply, "/api/v1/traces", "post");
        EXPECT_EQ(reply.status, 400);
    }
    EXPECT_EQ(get("/api/v1/traces/none").status, 404);
    EXPECT_EQ(get("/api/v1/traces/" + std::string(64, '0')).status, 404) << "no such evidence";
}

TEST_F(Workbench, PlaysWithATwin) {
    auto const twin =
        data(post("/api/v1/twins",
                  {{"method", example("method.json")}, {"gas", example("line_gas.json")}}),
             "/api/v1/twins");
    auto const base = "/api/v1/twins/" + twin["id"].get<std::string>();
    Json const programme{{"programme", twin["programme"]}};
    auto const run = data(post(base + "/run", programme), "/api/v1/twins/{id}/run");
    EXPECT_EQ(run["programme"], twin["programme"]);
    auto const proposal = data(post(base + "/retime", programme), "/api/v1/twins/{id}/retime");
    EXPECT_EQ(proposal["programme"].size(), twin["programme"].size());
    auto const again =
        data(post(base + "/run", {{"programme", proposal["programme"]}}), "/api/v1/twins/{id}/run");
    EXPECT_EQ(again["peaks"].size(), run["peaks"].size());
    auto const sheet = data(post(base + "/sheet", programme), "/api/v1/twins/{id}/sheet");
    EXPECT_NE(sheet["text"].get<std::string>().find("valve_programme"), std::string::npos);
    EXPECT_EQ(post(base + "/run", {{"programme", Json::array()}}).status, 400);
    EXPECT_EQ(post(base + "/run", {{"programme", 7}}).status, 400);
    EXPECT_EQ(post("/api/v1/twins/none/run", programme).status, 404);
    EXPECT_EQ(post("/api/v1/twins", {{"method", "{}"}, {"gas", "{}"}}).status, 400);
}

TEST_F(Workbench, OpensAHistoryAndItsCharts) {
    auto const history =
        data(upload("/api/v1/histories?name=weekly.csv", example("weekly_checks.csv")),
             "/api/v1/histories");
    auto const base = "/api/v1/histories/" + history["id"].get<std::string>();
    EXPECT_EQ(history["breaks"].size(), 1U);
    auto const charts =
        data(get(base + "/chart?column=cv_bias"), "/api/v1/histories/{id}/chart", "get");
    ASSERT_EQ(charts["charts"][0]["stretches"].size(), 2U);
    EXPECT_EQ(charts["charts"][0]["stretches"][0]["state"], "drift");
    auto const stretch = get(base + "/stretch?column=cv_bias&most=50");
    EXPECT_LE(count_of(stretch), 50U);
    EXPECT_EQ(stretch.body.size(), 8 + 16 * count_of(stretch));
    EXPECT_EQ(get(base + "/stretch?column=none").status, 404);
    EXPECT_EQ(get(base + "/chart?column=none").status, 404);
    EXPECT_EQ(get("/api/v1/histories/none/chart?column=total").status, 404);
    EXPECT_EQ(upload("/api/v1/histories?name=x", "nonsense").status, 400);
    EXPECT_EQ(upload("/api/v1/histories?name=x", std::string(1000, '\xff')).status, 400);
}

TEST_F(Workbench, ShowsAnEmptyRegister) {
    auto const all = data(get("/api/v1/register"), "/api/v1/register", "get");
    EXPECT_TRUE(all["analysers"].empty());
    EXPECT_EQ(get("/api/v1/register?book=other").status, 400);
    EXPECT_EQ(get("/api/v1/history?analyser=none").status, 404);
}

}  // namespace
}  // namespace gw::serve
