#include "desk/twin_bench.hpp"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "desk/demo_scenario.hpp"

namespace gw::desk {
namespace {

struct Given {
    DemoScenario scenario = *demo_scenario();
    std::string method, gas;
    Given() {
        for (auto const& [name, text] : scenario.files)
            if (name == "method.json") method = text;
        gas = gas::composition_json(scenario.gases.begin()->second).dump();
    }
};
Given const& given() {
    static Given const once;
    return once;
}

Json programme(TwinBench const& bench) { return twin_bench_json(bench)["programme"]; }

TEST(TwinBench, RunsAsOvenSimulateDoes) {
    auto const bench = twin_bench(given().method, given().gas);
    ASSERT_TRUE(bench) << bench.error().what;
    auto const oven = with_events(*bench, programme(*bench));
    ASSERT_TRUE(oven) << oven.error().what;
    auto const json = twin_run_json(*bench, *oven);
    auto const run = oven::simulate(bench->twin.oven, bench->amounts);
    for (auto const& peak : json["peaks"]) {
        bool seen = false;
        for (auto const& p : run.peaks)
            if (gas::name(p.reported_as) == peak["component"] &&
                p.detector + 1 == peak["detector"]) {
                EXPECT_EQ(peak["area"], p.area);
                seen = true;
            }
        EXPECT_TRUE(seen);
    }
    EXPECT_LE(json["detectors"][0]["time_s"].size(), 1500U);
}

TEST(TwinBench, AnEventMovedIntoAPeakCostsThatPeak) {
    auto const bench = *twin_bench(given().method, given().gas);
    auto moved = programme(bench);
    auto const before = twin_run_json(bench, *with_events(bench, moved));
    double worst_before = 0, worst_after = 0;
    for (auto const& p : before["peaks"])
        worst_before = std::max(worst_before, p["lost_percent"].get<double>());
    // The second event by four seconds: far outside of its window in this method.
    for (auto& event : moved)
        if (!event["fixed"].get<bool>()) {
            event["at_s"] = event["at_s"].get<double>() - 4;
            break;
        }
    auto const after = twin_run_json(bench, *with_events(bench, moved));
    for (auto const& p : after["peaks"])
        worst_after = std::max(worst_after,
                               p["lost_percent"].get<double>() + p["gained_percent"].get<double>());
    EXPECT_GT(worst_after, worst_before + 0.1);
}

TEST(TwinBench, ProposesWhatRetimeProposes) {
    auto const bench = *twin_bench(given().method, given().gas);
    auto const done = retiming_of(bench.twin.method, bench.twin.oven, bench.amounts);
    auto const json = oven_retiming_json(done);
    ASSERT_EQ(json["programme"].size(), programme(bench).size());
    // What was proposed can be run, and loses little where it was called feasible.
    auto const proposed = with_events(bench, json["programme"]);
    ASSERT_TRUE(proposed) << proposed.error().what;
    auto const text = retimed_method(bench.twin, done);
    ASSERT_TRUE(text);
    EXPECT_TRUE(twin_bench(*text, given().gas)) << "the proposed method is a method";
}

TEST(TwinBench, RefusesOtherEvents) {
    auto const bench = *twin_bench(given().method, given().gas);
    auto const good = programme(bench);
    auto fewer = good;
    fewer.erase(fewer.size() - 1);
    EXPECT_FALSE(with_events(bench, fewer));
    auto late = good;
    late[late.size() - 1]["at_s"] = bench.twin.oven.cycle_s + 1;
    EXPECT_EQ(with_events(bench, late).error().where,
              "programme:[" + std::to_string(good.size() - 1) + "].at_s");
    EXPECT_FALSE(with_events(bench, Json::object()));
    EXPECT_FALSE(with_events(bench, Json::parse(R"([{"at_s": "x", "action": "y"}])")));
    EXPECT_FALSE(twin_bench("{}", given().gas));
    EXPECT_FALSE(twin_bench(given().method, R"({"unit": "mol%", "components": {"gold": 1}})"));
}

}  // namespace
}  // namespace gw::desk
