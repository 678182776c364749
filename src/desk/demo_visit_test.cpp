#include "desk/demo_visit.hpp"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "desk/demo_timeline.hpp"

namespace gw::desk {
namespace {

TEST(DemoTimeline, HoldsEveryRunInsideAStageThatShowsRuns) {
    auto const scenario = demo_scenario();
    ASSERT_TRUE(scenario);
    auto const timeline = demo_timeline(*scenario);
    ASSERT_TRUE(timeline) << timeline.error().where << timeline.error().what;
    auto const cycle_ms = static_cast<std::int64_t>(1000 * scenario->method.cycle_s);
    std::int64_t free_from = 0;
    for (auto const& run : timeline->runs) {
        EXPECT_GE(run.at.milliseconds, free_from) << run.id << " begins before the last has ended";
        free_from = run.at.milliseconds + cycle_ms;
        int inside = 0;
        for (auto const& stage : timeline->stages)
            if (stage.from.milliseconds <= run.at.milliseconds &&
                free_from <= stage.to.milliseconds) {
                ++inside;
                EXPECT_EQ(stage.shown_by, "runs") << run.id;
            }
        EXPECT_EQ(inside, 1) << run.id;
    }
    std::int64_t last = 0;
    for (auto const& stage : timeline->stages) {
        EXPECT_GE(stage.from.milliseconds, last) << stage.name;
        EXPECT_GT(stage.to.milliseconds, stage.from.milliseconds) << stage.name;
        last = stage.to.milliseconds;
    }
}

TEST(DemoTimeline, NeverShowsASafetyStageAsDone) {
    auto const timeline = demo_timeline(*demo_scenario());
    for (auto const& stage : timeline->stages)
        if (stage.name == "make safe" || stage.name == "exchange" || stage.name == "restore") {
            EXPECT_EQ(stage.shown_by, "nothing") << stage.name;
        }
}

TEST(DemoVisit, DrawsTheTraceItsPeaksWereFoundIn) {
    auto const told = demo_visit();
    ASSERT_TRUE(told) << told.error().what;
    auto const run = told->runs.find("as-left-proving-1")->second();
    for (auto const& detector : run["detectors"]) {
        EXPECT_FALSE(detector["peaks"].empty());
        for (auto const& peak : detector["peaks"]) {
            // The highest point drawn near the apex stands as high above the baseline as the table
            // says.
            double highest = 0;
            for (std::size_t i = 0; i < detector["time_s"].size(); ++i)
                if (std::abs(detector["time_s"][i].get<double>() - peak["apex_s"].get<double>()) <
                    0.5)
                    highest = std::max(highest,
                                       detector["signal"][i].get<double>() -
                                           detector["baseline"][i].get<double>());
            auto const height = peak["height"].get<double>();
            EXPECT_NEAR(highest, height, 0.03 * height + 0.05) << peak["component"];
        }
    }
}

}  // namespace
}  // namespace gw::desk
