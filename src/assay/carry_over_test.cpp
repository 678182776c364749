#include "assay/carry_over.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "trace/synthesis.hpp"

namespace gw::assay {
namespace {

constexpr double cycle_s = 240, plates = 4000;

Method method() {
    Method m;
    m.cycle_s = cycle_s;
    for (auto const& [name, at] : std::vector<std::pair<char const*, double>>{
             {"methane", 60}, {"ethane", 85}, {"propane", 120}, {"n-butane", 170}}) {
        ExpectedPeak e;
        e.component = *gas::find_component(name);
        e.retention_s = at, e.window_s = 5;
        m.peaks.push_back(e);
    }
    return m;
}

trace::Emg band(double area, double retention, double seen_at) {
    return {area, seen_at, retention / std::sqrt(plates), 0.02 * retention / std::sqrt(plates)};
}

RunAreas run_of(std::vector<double> const& areas,
                std::vector<trace::Emg> const& carried,
                std::uint64_t number) {
    trace::SyntheticDetector d;
    auto const m = method();
    for (std::size_t k = 0; k < areas.size(); ++k)
        d.peaks.push_back(band(areas[k], m.peaks[k].retention_s, m.peaks[k].retention_s));
    d.peaks.insert(d.peaks.end(), carried.begin(), carried.end());
    d.white_noise = 0.002;
    trace::SynthesisOptions o;
    o.duration_s = cycle_s, o.run = number;
    return run_areas(trace::synthesise({d}, o), m);
}

std::vector<double> const line{100, 10, 5, 2};

TEST(CarryOver, SeesAPeakThatWasInjectedTheRunBefore) {
    // Retained for 340 s: it comes at 100 s of the next run, as broad as it is old.
    auto const late = band(3, 340, 100);
    auto const before = run_of(line, {}, 1), run = run_of(line, {late}, 2),
               again = run_of(line, {late}, 3);
    auto const found = carry_over(before, run, nullptr, cycle_s);
    ASSERT_EQ(found.late.size(), 1U);
    EXPECT_EQ(found.late[0].runs_before, 1);
    EXPECT_NEAR(run.peaks[found.late[0].peak].peak.apex_s, 100, 1);
    EXPECT_NEAR(found.late[0].plates_from_then / plates, 1, 0.2);
    EXPECT_FALSE(found.late[0].also_before);
    EXPECT_TRUE(carry_over(run, again, nullptr, cycle_s).late.at(0).also_before);
    EXPECT_EQ(carry_over_notes(found, run).size(), 1U);
}

TEST(CarryOver, TakesAnUnexpectedPeakOfThisRunForNoneOfTheLast) {
    auto const run = run_of(line, {band(3, 100, 100)}, 4);
    EXPECT_TRUE(carry_over(run, run, nullptr, cycle_s).late.empty());
    EXPECT_TRUE(carry_over_notes(carry_over(run, run, nullptr, cycle_s), run).empty());
}

TEST(CarryOver, SaysHowMuchOfAnUnfinishedPeakFallsIntoThisRun) {
    auto const late = band(30, 236, cycle_s - 2);
    auto const before = run_of(line, {late}, 5), clean = run_of(line, {}, 7);
    auto const found = carry_over(before, clean, nullptr, cycle_s);
    ASSERT_EQ(found.unfinished.size(), 1U);
    ASSERT_TRUE(found.unfinished[0].percent);
    double const lost = 100 * (1 - trace::area_before(late, cycle_s) / late.area);
    EXPECT_NEAR(*found.unfinished[0].percent, lost, 2.5 * *found.unfinished[0].u_percent);
    EXPECT_EQ(carry_over_notes(found, clean).size(), 1U);
    EXPECT_TRUE(carry_over(clean, clean, nullptr, cycle_s).unfinished.empty());
}

TEST(CarryOver, TellsTheShareOfTheOldGasWithItsUncertainty) {
    std::vector<double> const other{80, 25, 9, 1};
    for (double const share : {0.0, 0.004, 0.03}) {
        std::vector<double> mixed;
        for (std::size_t k = 0; k < line.size(); ++k)
            mixed.push_back((1 - share) * line[k] + share * other[k]);
        auto const before = run_of(other, {}, 8), run = run_of(mixed, {}, 9),
                   after = run_of(line, {}, 10);
        auto const found = carry_over(before, run, &after, cycle_s);
        ASSERT_TRUE(found.share);
        EXPECT_NEAR(found.share->value, share, 3.5 * found.share->u) << share;
        EXPECT_LT(found.share->u, 0.002);
        EXPECT_EQ(carry_over_notes(found, run).size(), share > 0 ? 1U : 0U) << share;
    }
}

TEST(CarryOver, SaysNothingOfAShareWhereTheGasesAreAlike) {
    auto const a = run_of(line, {}, 11), b = run_of(line, {}, 12), c = run_of(line, {}, 13);
    EXPECT_FALSE(carry_over(a, b, &c, cycle_s).share);
}

}  // namespace
}  // namespace gw::assay
