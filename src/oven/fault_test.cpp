// Every fault moves the run the way it must.
#include "oven/fault.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <set>

#include "oven/oven_for_tests.hpp"
#include "oven/simulate.hpp"

namespace gw::oven {
namespace {

struct Peak {
    double area{}, at_s{}, height{};
};

Peak with(std::string const& fault, double severity) {
    Faulty run{one_column(900, 6, 2, 60), {0.02}};
    run.oven.chains[0].carrier = {"He", 22.3e-6, 4e5, 1e5};
    if (!fault.empty()) {
        auto const done = apply_fault(run, {fault, severity}, "--fault");
        EXPECT_TRUE(done) << one_line(done.error());
    }
    auto const got = simulate(run.oven, run.amounts);
    auto const a = apex(got.peaks.at(0).signal, got.interval_s);
    return {got.peaks[0].area, a.at_s, a.height};
}

TEST(Fault, AreaGoesAsOneOverFlowAndHeightStays) {
    auto const sound = with("", 0);
    for (auto const* id : {"leak_upstream", "vent_blocked"}) {
        auto const found = with(id, 0.05);
        EXPECT_NEAR(found.area, sound.area / 0.95, 1e-6) << id;
        EXPECT_GT(found.at_s, sound.at_s) << id;
        EXPECT_NEAR(found.height / sound.height, 1, 0.01) << id;
    }
    auto const low = with("carrier_pressure_low", 0.02), high = with("carrier_pressure_high", 0.02);
    EXPECT_GT(low.area, sound.area);
    EXPECT_GT(low.at_s, sound.at_s);
    EXPECT_LT(high.area, sound.area);
    EXPECT_LT(high.at_s, sound.at_s);
}

TEST(Fault, AmountAndResponseLeaveTimesAlone) {
    auto const sound = with("", 0);
    for (auto const* id :
         {"leak_downstream", "loop_underfilled", "detector_ageing", "wrong_carrier"}) {
        auto const found = with(id, 0.1);
        EXPECT_NEAR(found.area / sound.area, 0.9, 1e-9) << id;
        EXPECT_NEAR(found.at_s, sound.at_s, 1e-9) << id;
    }
    EXPECT_NEAR(with("barometer", 1.01325).area / sound.area, 1.01, 1e-9);
}

TEST(Fault, AHotterOvenIsQuickerAndContaminationBroadens) {
    auto const sound = with("", 0);
    auto const hot = with("oven_offset", 2);
    EXPECT_LT(hot.at_s, sound.at_s);
    EXPECT_GT(hot.area, sound.area);  // the gas is thicker, the flow smaller
    EXPECT_LT(with("column_contaminated", 0.3).height, sound.height);
    EXPECT_NEAR(with("valve_cross_leak", 0.02).area, sound.area, 1e-6);  // a ghost, nothing lost
    EXPECT_NEAR(with("slow_actuator", 0.5).at_s, sound.at_s + 0.5, 1e-3);
}

TEST(Fault, EveryIdIsThereOnceAndTakesItsLowestSeverity) {
    std::set<std::string_view> ids;
    for (auto const& fault : faults()) {
        EXPECT_TRUE(ids.insert(fault.id).second) << fault.id;
        with(std::string(fault.id), fault.low);
        with(std::string(fault.id), fault.high * 0.5);
    }
    EXPECT_EQ(ids.size(), 20U);
}

TEST(Fault, RefusesWhatDoesNotExist) {
    Faulty run{one_column(900, 6, 2, 60), {0.02}};
    EXPECT_FALSE(apply_fault(run, {"gremlin", 1}, "--fault"));
    EXPECT_FALSE(apply_fault(run, {"loop_underfilled", 2}, "--fault"));
    EXPECT_FALSE(apply_fault(run, {"loop_underfilled", std::nan("")}, "--fault"));
    EXPECT_FALSE(apply_fault(run, {"event_late:nothing", 1}, "--fault"));
    EXPECT_FALSE(apply_fault(run, {"barometer:inject", 1}, "--fault"));
    EXPECT_FALSE(read_fault("loop_underfilled", "--fault"));
    EXPECT_EQ(read_fault("event_late:reverse A=0.5", "--fault")->name, "event_late:reverse A");
}

}  // namespace
}  // namespace gw::oven
