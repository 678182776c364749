#include "assay/run.hpp"

#include <gtest/gtest.h>

#include "trace/synthesis.hpp"

namespace gw::assay {
namespace {

ExpectedPeak expected(char const* name, double at, double window) {
    ExpectedPeak e;
    e.component = *gas::find_component(name);
    e.retention_s = at;
    e.window_s = window;
    return e;
}

trace::Peak peak(double apex, double height = 10) {
    trace::Peak p;
    p.apex_s = apex;
    p.start_s = apex - 2;
    p.end_s = apex + 2;
    p.height = height;
    p.width_half_s = 1;
    return p;
}

TEST(Assign, NamesByOrderAndLeavesStrangersUnnamed) {
    std::vector<ExpectedPeak> const e = {expected("propane", 50, 4), expected("isobutane", 70, 4)};
    auto const names = assign({peak(30), peak(51), peak(60), peak(69)}, e);
    EXPECT_FALSE(names[0]);
    EXPECT_EQ(names[1], 0U);
    EXPECT_FALSE(names[2]);
    EXPECT_EQ(names[3], 1U);
}

TEST(Assign, NeverNamesOutsideAWindow) {
    auto const names = assign({peak(54.1)}, {expected("propane", 50, 4)});
    EXPECT_FALSE(names[0]);
}

TEST(Assign, KeepsTheOrderOfElutionWhereWindowsOverlap) {
    // Both peaks are late: the nearest-neighbour rule would give the first one the second name.
    std::vector<ExpectedPeak> const e = {expected("n-butane", 84, 6),
                                         expected("neopentane", 90, 6)};
    auto const names = assign({peak(88), peak(94)}, e);
    EXPECT_EQ(names[0], 0U);
    EXPECT_EQ(names[1], 1U);
}

TEST(Assign, PrefersThePeakToABlipBesideIt) {
    auto const names = assign({peak(50.2, 0.001), peak(51.5, 100)}, {expected("propane", 50, 4)});
    EXPECT_FALSE(names[0]);
    EXPECT_EQ(names[1], 0U);
}

TEST(RunAreas, NamesPeaksOfTwoDetectorsAndSaysWhatIsMissing) {
    trace::SyntheticDetector heavy, light;
    heavy.white_noise = light.white_noise = 0.004;
    heavy.peaks = {{50, 40, 0.8, 0.2}};
    light.peaks = {{900, 42, 1.0, 0.2}, {30, 60, 1.2, 0.2}};
    trace::SynthesisOptions options;
    options.duration_s = 100;
    auto const trace = trace::synthesise({heavy, light}, options);
    Method method;
    method.cycle_s = 100;
    method.peaks = {
        expected("propane", 40, 3), expected("methane", 42, 3), expected("ethane", 80, 3)};
    method.peaks[1].detector = method.peaks[2].detector = 2;
    auto const run = run_areas(trace, method);
    ASSERT_EQ(run.areas.size(), 2U);
    EXPECT_NEAR(run.find(*gas::find_component("propane"))->area, 50, 0.05);
    EXPECT_NEAR(run.find(*gas::find_component("methane"))->area, 900, 0.5);
    ASSERT_EQ(run.warnings.size(), 1U);
    EXPECT_NE(run.warnings[0].find("ethane"), std::string::npos);
    ASSERT_EQ(run.peaks.size(), 3U);
    EXPECT_TRUE(run.peaks[2].peak.flags.unexpected) << "the peak at 60 s on detector 2";
}

TEST(RunAreas, TakesTheAreasOfAReport) {
    auto const report =
        trace::read_report("component,area,mole_percent\nmethane,1000,90\npropane,50,2\n", "r.csv");
    ASSERT_TRUE(report) << report.error().what;
    Method method;
    method.cycle_s = 100;
    method.peaks = {expected("methane", 42, 3), expected("ethane", 80, 3)};
    auto const run = run_areas(*report, method);
    ASSERT_TRUE(run);
    ASSERT_EQ(run->areas.size(), 1U);
    EXPECT_EQ(run->areas[0].area, 1000);
    EXPECT_EQ(run->warnings.size(), 2U) << "no ethane; propane is not expected";
    auto const empty =
        trace::read_report("component,mole_percent\nmethane,90\npropane,10\n", "r.csv");
    EXPECT_FALSE(run_areas(*empty, method));
}

}  // namespace
}  // namespace gw::assay
