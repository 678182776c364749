#include "desk/history.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstring>
#include <fstream>
#include <nlohmann/json.hpp>

#include "base/random.hpp"
#include "base/text.hpp"
#include "desk/analyser_history.hpp"
#include "desk/chart.hpp"
#include "desk/demo_record.hpp"
#include "desk/visit.hpp"
#include "store/memory_store.hpp"

namespace gw::desk {
namespace {

constexpr auto replay_table =
    "run,start,unnormalised_total,mole_percent:methane,u:mole_percent:methane,warnings\n"
    "a.csv,2026-01-01T00:00:00Z,100.01,90.1,0.01,\n"
    "c.csv,2026-01-01T00:08:00Z,100.03,90.3,0.01,\"one, two\"\n"
    "b.csv,2026-01-01T00:04:00Z,100.02,90.2,0.01,\n"
    "d.csv,2026-01-01T00:12:00Z,,,,\"failed: not a trace, but \"\"words\"\"\"\n";

std::vector<double> row(std::string const& block, std::size_t which) {
    std::uint32_t n = 0;
    std::memcpy(&n, block.data(), sizeof n);
    std::vector<double> out(n);
    std::memcpy(out.data(), block.data() + 8 + 8 * n * which, 8 * n);
    return out;
}

TEST(History, ReadsWhatReplayWrites) {
    auto const history = read_history(replay_table, "year.csv");
    ASSERT_TRUE(history) << history.error().what;
    auto const json = history_json(*history);
    EXPECT_EQ(json["rows"], 4);
    EXPECT_EQ(json["start"], "2026-01-01T00:00:00Z");
    EXPECT_EQ(json["to_s"], 720);
    ASSERT_EQ(json["columns"].size(), 2U) << "uncertainties and words are left out";
    EXPECT_EQ(json["columns"][0]["name"], "unnormalised_total");
    EXPECT_EQ(json["columns"][0]["unit"], "mol%");
    EXPECT_EQ(json["columns"][0]["count"], 3) << "a failed run has no readings";
    ASSERT_EQ(json["warnings"].size(), 1U);
    auto const block = *history_block(*history, {"mole_percent:methane", 0, 1000, 100});
    EXPECT_EQ(row(block, 0), (std::vector<double>{0, 240, 480})) << "in order of time";
    EXPECT_EQ(row(block, 1), (std::vector<double>{90.1, 90.2, 90.3}));
}

TEST(History, CountsRunsThatStateNoTime) {
    auto const history =
        read_history("run,start,unnormalised_total,warnings\na,,100.0,\nb,,100.1,\n", "year.csv");
    ASSERT_TRUE(history) << history.error().what;
    EXPECT_FALSE(history->series.start);
    EXPECT_EQ(history->series.t, (std::vector<double>{0, 1}));
    EXPECT_EQ(history->series.warnings.size(), 1U);
}

TEST(History, TakesTheFirstOfRunsThatStateOneTime) {
    auto const history = read_history(
        "run,start,unnormalised_total,warnings\na,2026-01-01T00:00:00Z,100.0,\n"
        "b,2026-01-01T00:00:00Z,100.1,\nc,2026-01-01T00:04:00Z,100.2,\n",
        "year.csv");
    ASSERT_TRUE(history) << history.error().what;
    EXPECT_EQ(history->series.t, (std::vector<double>{0, 240}));
    EXPECT_EQ(history->series.columns[0].y, (std::vector<double>{100.0, 100.2}));
    EXPECT_EQ(history->series.warnings.size(), 1U);
}

TEST(History, RefusesWithTheLine) {
    auto const where = [](char const* text) {
        auto const out = read_history(text, "year.csv");
        return out ? std::string("taken") : out.error().where;
    };
    EXPECT_EQ(where("run,start,unnormalised_total,warnings\na,2026-01-01T00:00:00Z,abc,\n"),
              "year.csv:2");
    EXPECT_EQ(where("run,start,unnormalised_total,warnings\na,yesterday,100,\n"), "year.csv:2");
    EXPECT_EQ(where("run,start,unnormalised_total,warnings\na,b\n"), "year.csv:2");
    EXPECT_EQ(where("run,start,unnormalised_total,warnings\n"), "year.csv");
    EXPECT_NE(where(""), "taken");
    EXPECT_NE(where("\x01\x02"), "taken");
}

TEST(History, AStretchKeepsItsExtremesAndReachesTheEdges) {
    std::string text = "time_s,total\n";
    for (int i = 0; i < 20000; ++i)
        text += std::to_string(10 * i) + "," + (i == 12345 ? "200" : "100") + "\n";
    auto const history = *read_history(text, "long.csv");
    auto const whole = *history_block(history, {"total", 0, 1e9, 1000});
    auto const y = row(whole, 1);
    EXPECT_LE(y.size(), 1000U);
    EXPECT_EQ(*std::max_element(y.begin(), y.end()), 200);
    auto const part = row(*history_block(history, {"total", 1005, 1095, 1000}), 0);
    EXPECT_EQ(part.front(), 1000);
    EXPECT_EQ(part.back(), 1100);
    EXPECT_EQ(history_block(history, {"none", 0, 1, 10}).error().where, "column");
    EXPECT_EQ(history_block(history, {"total", 2, 1, 10}).error().where, "to");
}

TEST(History, ItsChartsAreThoseOfTheCommand) {
    RandomStream random(3, 1);
    // Another column shares the limits, and stays out of the answer.
    std::string text = "time,total,cv_bias,event\n";
    for (int day = 1; day <= 28; ++day)
        text += "2026-02-" + std::string(day < 10 ? "0" : "") + std::to_string(day) +
                "T08:00:00Z," + shortest(100 + 0.05 * random.normal() + (day > 20 ? 0.4 : 0)) +
                "," + shortest(0.01 * random.normal()) + "," +
                (day == 15 ? "module exchanged" : "") + "\n";
    auto const path = testing::TempDir() + "/gw_history.csv";
    std::ofstream(path) << text;
    ChartRequest request;
    request.series = {path};
    auto const there = chart(request);
    ASSERT_TRUE(there) << there.error().what;
    auto const told = chart_json(*there, request);
    auto const history = *read_history(text, "history.csv");
    auto const here = history_chart(history, "total");
    ASSERT_TRUE(here) << here.error().what;
    ASSERT_EQ((*here)["charts"].size(), 1U);
    EXPECT_EQ((*here)["run_length"], told["run_length"]);
    EXPECT_EQ((*here)["false_alarm_days"], told["false_alarm_days"]);
    auto const &mine = (*here)["charts"][0]["stretches"], &theirs = told["charts"][0]["stretches"];
    ASSERT_EQ(mine.size(), 2U) << "a break begins a stretch";
    ASSERT_EQ(mine.size(), theirs.size());
    for (std::size_t i = 0; i < mine.size(); ++i) {
        EXPECT_EQ(mine[i]["state"], theirs[i]["state"]);
        EXPECT_EQ(mine[i]["centre"], theirs[i]["centre"]);
        EXPECT_EQ(mine[i]["high"], theirs[i]["individuals"]["high"]);
        EXPECT_EQ(mine[i]["event"], theirs[i]["event"]);
        EXPECT_EQ(mine[i]["change"].is_null(), theirs[i]["change"]["kind"] == "none");
    }
    EXPECT_EQ(history_json(history)["breaks"][0]["what"], "module exchanged");
    for (auto const* column : {"none", ""})
        EXPECT_EQ(history_chart(history, column).error().code, Errc::not_found);
}

TEST(AnalyserHistory, GathersWhatVisitsEstablished) {
    store::MemoryStore store;
    visit::Act const act{"A. Person", Instant{1772000000000, 0}, std::nullopt};
    EXPECT_EQ(analyser_history(store, "PX").error().code, Errc::not_found);
    auto const id = *start_visit(store, {"exchange", "PX", "", "", "", ""}, act);
    auto const empty = analyser_history(store, "PX");
    ASSERT_TRUE(empty) << empty.error().what;
    EXPECT_TRUE(empty->series.t.empty());
    ASSERT_TRUE(turn_back(store, id, {"refit the old module", "no spare", "", ""}, act));
    VisitAdd in;
    in.request.stage = "refit the old module", in.request.step = "refit: module in";
    in.request.value = "M-1";
    ASSERT_TRUE(add_to_visit(store, id, in, act));
    auto const history = analyser_history(store, "PX");
    ASSERT_TRUE(history) << history.error().what;
    EXPECT_EQ(history_json(*history)["breaks"][0]["what"], "oven module in: M-1");
}

// The whole invented exchange: what was found, what was left, and the break between them.
TEST(AnalyserHistory, TellsTheDemonstration) {
    store::MemoryStore store;
    ASSERT_TRUE(record_demo(store));
    auto const analysers = store.things("analyser").value();
    ASSERT_EQ(analysers.size(), 1U);
    auto const history = analyser_history(store, analysers.front().id);
    ASSERT_TRUE(history) << history.error().what;
    auto const& series = history->series;
    auto const* bias = series.find("cv_bias");
    ASSERT_NE(bias, nullptr);
    ASSERT_EQ(bias->y.size(), 2U);
    EXPECT_LT(bias->y[0], -0.1) << "as found it fails";
    EXPECT_LT(std::abs(bias->y[1]), 0.1) << "as left it meets";
    for (auto const* name : {"factor:ethane", "retention:methane"}) {
        ASSERT_NE(series.find(name), nullptr) << name;
        EXPECT_EQ(series.find(name)->y.size(), 2U) << name;
    }
    auto const told = history_json(*history);
    ASSERT_EQ(told["breaks"].size(), 1U);
    double const at = told["breaks"][0]["at_s"].get<double>();
    EXPECT_GT(at, bias->t[0]);
    EXPECT_LT(at, bias->t[1]);
    auto const charts = history_chart(*history, "cv_bias");
    ASSERT_TRUE(charts) << "too few readings are an answer, not a fault";
    // Only what is said of this column, and of all.
    for (auto const& warning : (*charts)["warnings"])
        EXPECT_EQ(warning.get<std::string>().find("factor"), std::string::npos) << warning;
}

}  // namespace
}  // namespace gw::desk
