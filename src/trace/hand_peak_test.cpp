#include "trace/hand_peak.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace gw::trace {
namespace {

constexpr double height = 10, sigma = 2, centre = 30;

// A Gaussian on a sloping line: its area is height sigma sqrt(2 pi), whatever the line.
Trace gaussian(double interval_s, double slope = 0.01, double offset = 1) {
    Trace trace;
    trace.interval_s = interval_s;
    trace.signals.resize(1);
    for (double t = 0; t <= 60; t += interval_s) {
        double const z = (t - centre) / sigma;
        trace.signals[0].push_back(
            static_cast<float>(offset + slope * t + height * std::exp(-0.5 * z * z)));
    }
    return trace;
}
double truth() { return height * sigma * std::sqrt(2 * std::numbers::pi); }

DetectorPeaks straight(Trace const& trace, double slope = 0.01, double offset = 1) {
    DetectorPeaks found;
    found.noise.rms = 0.01;
    for (std::size_t i = 0; i < trace.samples(); ++i)
        found.baseline.push_back(static_cast<float>(offset + slope * trace.time(i)));
    return found;
}

TEST(HandPeak, GivesTheAreaOfAGaussianOnASlope) {
    auto const trace = gaussian(0.04);
    auto const got = hand_peak(trace, 1, {20, 40, {}, {}}, straight(trace));
    ASSERT_TRUE(got) << got.error().what;
    // 5 sigma each way leave 6e-7 of the area out.
    EXPECT_NEAR(got->peak.area, truth(), 5e-6 * truth());
    EXPECT_NEAR(got->peak.apex_s, centre, 1e-3);
    EXPECT_NEAR(got->peak.height, height, 1e-3);
    EXPECT_NEAR(got->peak.width_half_s, 2.3548 * sigma, 2e-3);  // of a Gaussian: 2 sqrt(2 ln 2)
    EXPECT_NEAR(got->peak.asymmetry, 1, 1e-3);
    EXPECT_NEAR(got->base_start, 1.2, 1e-6);
    EXPECT_NEAR(got->base_end, 1.4, 1e-6);
}

TEST(HandPeak, EndsMayStandBetweenSamples) {
    // A straight ramp: the trapezoid is exact wherever the ends are.
    Trace trace;
    trace.interval_s = 0.5;
    trace.signals.resize(1);
    for (int i = 0; i < 100; ++i) trace.signals[0].push_back(static_cast<float>(i));
    auto const got = hand_peak(trace, 1, {1.13, 7.91, 0.0, 0.0}, {});
    ASSERT_TRUE(got) << got.error().what;
    EXPECT_NEAR(got->peak.area, 7.91 * 7.91 - 1.13 * 1.13, 1e-9);
}

TEST(HandPeak, ErrorFallsWithTheSquareOfTheInterval) {
    // Cut at one sigma, where the curvature does not cancel at the ends.
    auto const error = [](double interval_s) {
        auto const trace = gaussian(interval_s, 0, 0);
        double const exact = truth() * std::erf(1 / std::sqrt(2.0));
        return std::abs(
            hand_peak(trace, 1, {centre - sigma, centre + sigma, 0.0, 0.0}, {})->peak.area - exact);
    };
    EXPECT_NEAR(error(0.5) / error(0.25), 4, 0.4);
}

TEST(HandPeak, ABaselineRaisedByDTakesDTimesTheWidthAway) {
    auto const trace = gaussian(0.04);
    auto const found = straight(trace);
    auto const low = hand_peak(trace, 1, {20, 40, 1.2, 1.4}, found),
               high = hand_peak(trace, 1, {20, 40, 1.25, 1.45}, found),
               tilted = hand_peak(trace, 1, {20, 40, 1.25, 1.35}, found);
    EXPECT_NEAR(low->peak.area - high->peak.area, 0.05 * 20, 1e-9);
    EXPECT_NEAR(low->peak.area, tilted->peak.area, 1e-9);
}

TEST(HandPeak, TellsHowSureItIs) {
    auto const trace = gaussian(0.04);
    auto const got = hand_peak(trace, 1, {20, 40, {}, {}}, straight(trace));
    // Two ends known to 0.01 each: 0.01 x 20 / sqrt 2; the samples' own noise is small beside it.
    EXPECT_NEAR(
        got->peak.area_u, std::hypot(0.2 / std::sqrt(2.0), 0.01 * std::sqrt(20 * 0.04)), 1e-12);
}

TEST(HandPeak, TakesADip) {
    auto trace = gaussian(0.04, 0, 0);
    for (float& y : trace.signals[0]) y = -y;
    auto const got = hand_peak(trace, 1, {20, 40, 0.0, 0.0}, {});
    EXPECT_NEAR(got->peak.area, -truth(), 1e-4);
    EXPECT_NEAR(got->peak.height, -height, 1e-3);
    EXPECT_TRUE(got->peak.flags.negative);
}

TEST(HandPeak, AgreesWithTheFinderOnAPeakThatStandsAlone) {
    auto const trace = gaussian(0.04);
    auto const found = find_peaks(trace, 1);
    ASSERT_EQ(found.peaks.size(), 1U);
    auto const& own = found.peaks[0];
    auto const got = hand_peak(trace, 1, {own.start_s, own.end_s, {}, {}}, found);
    EXPECT_NEAR(got->peak.area, own.area, 1e-3 * own.area);
    EXPECT_NEAR(got->peak.height, own.height, 1e-3 * own.height);
}

TEST(HandPeak, RefusesWhatIsNoPeak) {
    auto const trace = gaussian(0.04);
    auto const found = straight(trace);
    auto const where = [&](int detector, HandEnds const& ends) {
        auto const got = hand_peak(trace, detector, ends, found);
        return got ? std::string("taken") : got.error().where;
    };
    EXPECT_EQ(where(2, {20, 40, {}, {}}), "detector");
    EXPECT_EQ(where(0, {20, 40, {}, {}}), "detector");
    EXPECT_EQ(where(1, {-1, 40, {}, {}}), "start_s");
    EXPECT_EQ(where(1, {20, 61, {}, {}}), "end_s");
    EXPECT_EQ(where(1, {40, 20, {}, {}}), "end_s");
    EXPECT_EQ(where(1, {std::nan(""), 20, {}, {}}), "start_s");
    EXPECT_EQ(where(1, {20, 40, 1e6, {}}), "base_start");
    EXPECT_EQ(where(1, {20, 40, {}, std::nan("")}), "base_end");
}

}  // namespace
}  // namespace gw::trace
