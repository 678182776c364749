#include <gtest/gtest.h>
// rapidcheck's header looks for gtest
#include <rapidcheck/gtest.h>

#include <cmath>

#include "bench/bench.hpp"

namespace gw::bench {
namespace {

double between(double low, double high) {
    return low + (high - low) * (*rc::gen::inRange(0, 1000001)) / 1e6;
}

RC_GTEST_PROP(Purge, WholeCyclesLeaveNoMoreThanAsked, ()) {
    CyclePurge const p{{between(0.5e5, 2e5), 0},
                       {between(2.5e5, 20e5), 0},
                       between(0.1, 1),
                       between(1e-6, 1e-2),
                       0};
    auto const a = purge_by_cycles(p).value();
    RC_ASSERT(a.left.value <= p.to * (1 + 1e-8));
    RC_ASSERT(a.cycles < a.exact.value + 1);
}

RC_GTEST_PROP(Purge, TheTimeFoundLeavesWhatWasAsked, ()) {
    FlowPurge p{{between(1e-6, 1e-2), 0},
                {between(1e-8, 1e-4), 0},
                {between(1e5, 5e5), 0},
                {between(270, 350), 0},
                101325,
                293.15,
                between(0.1, 1),
                between(1e-6, 1e-2),
                {}};
    p.time = purge_by_flow(p)->time;
    RC_ASSERT(std::abs(purge_by_flow(p)->left.value / p.to - 1) < 1e-9);
}

RC_GTEST_PROP(Lag, LiesBetweenThatOfEitherPressure, ()) {
    double const p1 = between(2e5, 60e5), p2 = between(1.1e5, 1.9e5);
    double const mean = mean_line_pressure(p1, p2);
    RC_ASSERT(mean > 0.5 * (p1 + p2));  // a flowing line holds more than the arithmetic mean
    RC_ASSERT(mean < p1);
    RC_ASSERT(std::abs(mean_line_pressure(p2, p1) - mean) < 1e-6);
}

RC_GTEST_PROP(Shelter, MoreGasLeavesLessOxygen, ()) {
    ShelterInputs in;
    in.room = {between(5, 100), 0};
    in.flow = {between(1e-5, 1e-2), 0};
    in.ventilation = {between(0, 1e-2), 0};
    in.time_s = between(60, 86400);
    auto const a = oxygen_depletion(in).value();
    RC_ASSERT(a.at_time->value >= a.steady->value - 1e-12);
    RC_ASSERT(a.at_time->value <= oxygen_of_air);
    in.flow.value *= 2;
    RC_ASSERT(oxygen_depletion(in)->at_time->value < a.at_time->value);
}

TEST(Shelter, FollowsItsEquationStepByStep) {
    ShelterInputs in;
    in.room = {20, 0};
    in.released = {1, 0};
    in.flow = {0.5 / 60, 0};
    in.ventilation = {20.0 / 3600, 0};
    in.time_s = 1800;
    double C = oxygen_of_air * std::exp(-1.0 / 20);
    constexpr int steps = 100000;
    for (int i = 0; i < steps; ++i)
        C += in.time_s / steps *
             (in.ventilation.value * oxygen_of_air - (in.ventilation.value + in.flow.value) * C) /
             20;
    auto const a = oxygen_depletion(in).value();
    EXPECT_NEAR(a.at_time->value, C, 1e-6);
    ASSERT_TRUE(a.time_to_entry_s);
    in.time_s = *a.time_to_entry_s;
    EXPECT_NEAR(oxygen_depletion(in)->at_time->value, 0.195, 1e-9);
}

TEST(Lag, OneMixerIsThroughAfterThreeTimesItsVolume) {
    LagInputs in;
    in.sections = {{"filter", {1e-3, 0}, {101325, 0}, {101325, 0}, {273.15, 0}, true, {1e-4, 0}}};
    EXPECT_NEAR(sample_lag(in)->through_95.value, 10 * std::log(20.0), 1e-3);
    in.sections.push_back(in.sections.front());
    // Two equal ones: (1 + x) exp(-x) = 0.05 at x = 4.74386.
    EXPECT_NEAR(sample_lag(in)->through_95.value, 47.4386, 0.01);
}

TEST(Endurance, ALineOfRealGasesHoldsMoreOrLessThanTheIdealOne) {
    EnduranceInputs in;
    in.water_volume = {50e-3, 0};
    in.p_now = {200e5, 0};
    in.p_least = {10e5, 0};
    in.temperature = {293.15, 0};
    in.flow = {50e-6 / 60, 0};
    double const ideal = endurance(in)->content.value;
    auto const with = [&](char const* name) {
        gas::Composition gas;
        gas.components = {*gas::find_component(name)};
        gas.x = {1};
        in.Z = gerg2008_factor(gas).value();
        return endurance(in)->content.value;
    };
    EXPECT_LT(with("helium"), 0.95 * ideal);
    EXPECT_LT(with("hydrogen"), 0.95 * ideal);
    EXPECT_GT(with("methane"), 1.1 * ideal);
    EXPECT_GT(with("argon"), ideal);
}

}  // namespace
}  // namespace gw::bench
