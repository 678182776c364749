#include "trace/peaks.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "trace/random_runs.hpp"
#include "trace/synthesis.hpp"

namespace gw::trace {
namespace {

Trace quiet_trace(std::vector<Emg> peaks, double white = 0.001, double duration_s = 120) {
    SyntheticDetector d;
    d.peaks = std::move(peaks);
    d.white_noise = white;
    d.offset = 4;
    SynthesisOptions o;
    o.duration_s = duration_s;
    return synthesise({d}, o);
}

// Statistics over many seeded runs. The limits are the goals of the peak finder; runs are few
// enough for a test, so the shares leave room for one unlucky run, the medians none.

TEST(FindPeaks, FindsEveryPeakOverFiveTimesTheNoiseAndInventsNone) {
    auto const s = scored({}, 11, 80);
    EXPECT_GT(s.expected, 400);
    EXPECT_EQ(s.missed, 0);
    EXPECT_EQ(s.invented, 0);
    EXPECT_LT(quantile(s.area_error, 0.5), 0.0005);
    EXPECT_LT(quantile(s.area_error, 1), 0.005);
    EXPECT_LT(quantile(s.apex_error, 1), 0.03);
    EXPECT_LT(quantile(s.apex_error, 0.99), 0.02);
}

TEST(FindPeaks, DoesNotDependOnTheShapeOfThePeaks) {
    RunKind kind;
    kind.passages = true;
    auto const s = scored(kind, 12, 60);
    EXPECT_EQ(s.missed, 0);
    EXPECT_EQ(s.invented, 0);
    EXPECT_LT(quantile(s.area_error, 0.5), 0.0005);
    EXPECT_LT(quantile(s.area_error, 1), 0.005);
    EXPECT_LT(quantile(s.apex_error, 0.99), 0.02);
}

class AtSamplingRate : public testing::TestWithParam<double> {};

TEST_P(AtSamplingRate, TheGoalsHold) {
    RunKind kind;
    kind.rate_hz = GetParam();
    auto const s = scored(kind, 13, 40);
    EXPECT_LE(s.missed, 1);
    EXPECT_EQ(s.invented, 0);
    EXPECT_LT(quantile(s.area_error, 0.5), 0.0005);
    // Down to a height of 300 noises and eight samples a half width: u is 0.3 % there.
    EXPECT_LT(quantile(s.area_error, 1), 0.0075);
    EXPECT_LT(quantile(s.apex_error, 0.99), 0.02);
}
INSTANTIATE_TEST_SUITE_P(FindPeaks, AtSamplingRate, testing::Values(5, 10, 25, 100, 200));

TEST(FindPeaks, FollowsASlowlyWanderingBaseline) {
    RunKind kind;
    kind.wander = 20;
    auto const s = scored(kind, 14, 60);
    EXPECT_EQ(s.missed, 0);
    EXPECT_EQ(s.invented, 0);
    EXPECT_LT(quantile(s.area_error, 0.5), 0.0005);
    EXPECT_LT(quantile(s.area_error, 0.99), 0.005);
}

TEST(FindPeaks, StandsFlickerNoise) {
    RunKind kind;
    kind.flicker = 1;
    auto const s = scored(kind, 15, 60);
    EXPECT_LE(s.missed, 2);
    EXPECT_EQ(s.invented, 0);
    EXPECT_LT(quantile(s.area_error, 0.5), 0.0005);
}

class WithKicks : public testing::TestWithParam<std::tuple<bool, bool>> {};

TEST_P(WithKicks, KicksAreNoPeaks) {
    RunKind kind;
    kind.kicks = 3;
    kind.events_known = std::get<0>(GetParam());
    kind.lagged = std::get<1>(GetParam());
    auto const s = scored(kind, 16, 60);  // 180 kicks
    EXPECT_LE(s.missed, 2);
    EXPECT_LE(s.invented, 4);
    EXPECT_LT(quantile(s.area_error, 0.5), 0.0005);
    EXPECT_LT(quantile(s.area_error, 0.97), 0.005);
}
INSTANTIATE_TEST_SUITE_P(FindPeaks, WithKicks, testing::Combine(testing::Bool(), testing::Bool()));

TEST(FindPeaks, FindsNothingInPureNoise) {
    int found = 0;
    for (std::uint64_t run = 0; run < 150; ++run) {
        SyntheticDetector d;
        d.white_noise = 0.01;
        d.drift_per_s = 1e-3;
        SynthesisOptions o;
        o.duration_s = 240;
        o.interval_s = run % 3 == 0 ? 0.1 : 0.02;
        o.seed = 17;
        o.run = run;
        found += static_cast<int>(find_peaks(synthesise({d}, o), 1).peaks.size());
    }
    EXPECT_EQ(found, 0);
}

TEST(FindPeaks, StatesAnUncertaintyThatCoversTheError) {
    auto const s = scored({}, 18, 100);
    double const alone = root_mean_square(s.pull, 5);
    EXPECT_GT(s.pull.size(), 150u);
    EXPECT_GT(alone, 0.7);
    EXPECT_LT(alone, 1.4);
    EXPECT_LT(root_mean_square(s.pull_overlapped, 5), 2);
}

TEST(FindPeaks, MeasuresNoiseWithinTenPercentAndDrift) {
    for (std::uint64_t n = 0; n < 30; ++n) {
        auto const run = random_run({}, 19, n);
        auto const got = find_peaks(run.trace, 1);
        EXPECT_NEAR(got.noise.rms / run.white_noise, 1, 0.1) << n;
        EXPECT_NEAR(got.noise.drift_per_s, run.drift_per_s, 1e-5 + 0.01 * run.white_noise) << n;
    }
}

TEST(FindPeaks, GivesTheSameBytesTwice) {
    auto const run = random_run({}, 20, 3);
    auto const a = find_peaks(run.trace, 1), b = find_peaks(run.trace, 1);
    ASSERT_EQ(a.peaks.size(), b.peaks.size());
    for (std::size_t k = 0; k < a.peaks.size(); ++k) {
        EXPECT_EQ(a.peaks[k].area, b.peaks[k].area);
        EXPECT_EQ(a.peaks[k].area_u, b.peaks[k].area_u);
        EXPECT_EQ(a.peaks[k].apex_s, b.peaks[k].apex_s);
    }
    EXPECT_EQ(a.baseline, b.baseline);
}

// Single cases.

TEST(FindPeaks, TellsTwoEqualPeaksOfResolutionThreeQuartersApart) {
    auto const got = find_peaks(quiet_trace({{10, 50, 1, 0}, {10, 53, 1, 0}}), 1);  // 3 sigma: 0.75
    ASSERT_EQ(got.peaks.size(), 2u);
    EXPECT_NEAR(got.peaks[0].area, 10, 0.02);
    EXPECT_NEAR(got.peaks[1].area, 10, 0.02);
    EXPECT_TRUE(got.peaks[0].flags.fitted && got.peaks[0].flags.merged);
}

TEST(FindPeaks, SharesASmallPeakOutOfABigOnesTail) {
    for (double const ratio : {10.0, 30.0, 100.0}) {
        double const distance = 4 * std::sqrt(1.25) * 1.25;  // resolution 1.25 by variance
        auto const got =
            find_peaks(quiet_trace({{200, 50, 1, 0.5}, {200 / ratio, 50 + distance, 1, 0.5}}), 1);
        ASSERT_EQ(got.peaks.size(), 2u) << ratio;
        EXPECT_NEAR(got.peaks[0].area / 200, 1, 0.002) << ratio;
        EXPECT_NEAR(got.peaks[1].area * ratio / 200, 1, 0.03) << ratio;
    }
}

TEST(FindPeaks, SeesAShoulderInTheCurvature) {
    auto const got = find_peaks(quiet_trace({{50, 50, 1, 0}, {8, 52.7, 1, 0}}), 1);  // no valley
    ASSERT_EQ(got.peaks.size(), 2u);
    EXPECT_TRUE(got.peaks[1].flags.shoulder);
    EXPECT_NEAR(got.peaks[0].area + got.peaks[1].area, 58, 0.05);
}

TEST(FindPeaks, KeepsAFlatTopOnePeakAndFlagsIt) {
    SyntheticDetector d;
    d.peaks = {{100, 50, 1, 0.4}};
    d.white_noise = 0.001;
    d.high = 20;
    auto const got = find_peaks(synthesise({d}, {}), 1);
    ASSERT_EQ(got.peaks.size(), 1u);
    EXPECT_TRUE(got.peaks[0].flags.saturated);
}

// A peak of a twelve-hundredth, without a top of its own, on the tail of another.
TEST(FindPeaks, SeesARiderInTheLogarithmOfATail) {
    auto const got =
        find_peaks(quiet_trace({{120, 50, 0.45, 0.4}, {0.1, 53.2, 0.5, 0.3}}, 0.002), 1);
    ASSERT_EQ(got.peaks.size(), 2u);
    EXPECT_TRUE(got.peaks[1].flags.shoulder);
    EXPECT_NEAR(got.peaks[0].area, 120, 0.05);
    EXPECT_NEAR(got.peaks[1].area, 0.1, 0.02);
}

TEST(FindPeaks, TakesASlowTailForNoRider) {
    // Two retention sites: a part of the peak leaves late. Convex, but nothing rides on it.
    SyntheticDetector d;
    d.peaks = {{100, 50, 0.6, 0.3}, {3, 50, 0.6, 4}};
    d.white_noise = 0.002;
    SynthesisOptions o;
    o.duration_s = 120;
    auto const got = find_peaks(synthesise({d}, o), 1);
    ASSERT_EQ(got.peaks.size(), 1u);
    EXPECT_NEAR(got.peaks[0].area, 103, 0.5);  // the end of so slow a tail passes for background
}

// A kick of a tenth of the peak on its falling flank.
Trace kicked_flank(double kick_height) {
    SyntheticDetector d;
    d.peaks = {{20, 60, 1, 0.3}, {15, 80, 1.2, 0.4}};
    if (kick_height != 0) d.kicks = {{61.0, kick_height, 0.5, 0.0}};
    d.white_noise = 0.003;
    d.offset = 4;
    SynthesisOptions o;
    o.duration_s = 120;
    return synthesise({d}, o);
}

TEST(FindPeaks, TellsAKickFromTheFlankItSitsOn) {
    PeakOptions known;
    known.events = {{61.0, "valve"}};
    for (double const height : {0.8, -0.8, 0.1}) {
        auto const got = find_peaks(kicked_flank(height), 1, known);
        ASSERT_EQ(got.peaks.size(), 2u) << height;
        EXPECT_NEAR(got.peaks[0].area, 20, 0.02) << height;  // the kick alone has 0.4
        EXPECT_NEAR(got.peaks[1].area, 15, 0.015) << height;
    }
}

TEST(FindPeaks, TakesNothingOffWhereAnEventLeftNothing) {
    PeakOptions known;
    known.events = {{61.0, "valve"}};
    auto const trace = kicked_flank(0);
    auto const with = find_peaks(trace, 1, known), without = find_peaks(trace, 1);
    ASSERT_EQ(with.peaks.size(), 2u);
    EXPECT_EQ(with.peaks[0].area, without.peaks[0].area);
}

TEST(FindPeaks, CallsADipNegative) {
    auto const got = find_peaks(quiet_trace({{-5, 50, 1, 0.3}, {9, 80, 1, 0.3}}), 1);
    ASSERT_EQ(got.peaks.size(), 2u);
    EXPECT_TRUE(got.peaks[0].flags.negative);
    EXPECT_NEAR(got.peaks[0].area, -5, 0.01);
    EXPECT_FALSE(got.peaks[1].flags.negative);
}

TEST(FindPeaks, FlagsAPeakCutByTheEndOfTheRecord) {
    auto const got = find_peaks(quiet_trace({{20, 60, 1, 0.3}, {20, 119.5, 1, 0.3}}), 1);
    ASSERT_EQ(got.peaks.size(), 2u);
    EXPECT_FALSE(got.peaks[0].flags.cut);
    EXPECT_TRUE(got.peaks[1].flags.cut);
}

TEST(FindPeaks, SeesAPeakThatTheRecordEndsBeforeItsTop) {
    auto const got = find_peaks(quiet_trace({{20, 60, 1, 0.3}, {20, 120.5, 1, 0.3}}), 1);
    ASSERT_EQ(got.peaks.size(), 2u);
    EXPECT_TRUE(got.peaks[1].flags.cut);
    EXPECT_NEAR(got.peaks[1].area, area_before({20, 120.5, 1, 0.3}, 120), 0.3);
}

TEST(FindPeaks, DoesNotTakeADecayingStartForAPeak) {
    SyntheticDetector d;
    d.peaks = {{20, 60, 1, 0.3}};
    d.kicks = {{0, 3, 0.8}, {-0.5, 1, 2}};
    d.white_noise = 0.001;
    auto const got = find_peaks(synthesise({d}, {}), 1);
    ASSERT_EQ(got.peaks.size(), 1u);
    EXPECT_NEAR(got.peaks[0].area, 20, 0.02);
}

TEST(FindPeaks, FlagsAPeakCutByAValve) {
    auto trace = quiet_trace({{20, 60, 1, 0.3}});
    for (std::size_t i = 0; i < trace.samples(); ++i)
        if (trace.time(i) > 60.8) trace.signals[0][i] = 4 + 0.001F * static_cast<float>(i % 3);
    PeakOptions options;
    options.events = {{60.8, "valve"}};
    auto const got = find_peaks(trace, 1, options);
    ASSERT_EQ(got.peaks.size(), 1u);
    EXPECT_TRUE(got.peaks[0].flags.cut);
    EXPECT_NEAR(got.peaks[0].area, area_before({20, 60, 1, 0.3}, 60.8), 0.1);
}

TEST(FindPeaks, FlagsAGapInsideAPeak) {
    auto trace = quiet_trace({{20, 60, 1, 0.3}, {20, 90, 1, 0.3}});
    std::size_t const from = 3020, to = 3029;  // 60.4 to 60.6 s
    float const a = trace.signals[0][from - 1], b = trace.signals[0][to + 1];
    for (std::size_t i = from; i <= to; ++i)
        trace.signals[0][i] =
            a + (b - a) * static_cast<float>(i - from + 1) / static_cast<float>(to - from + 2);
    trace.gaps.push_back({from, to});
    auto const got = find_peaks(trace, 1);
    ASSERT_EQ(got.peaks.size(), 2u);
    EXPECT_TRUE(got.peaks[0].flags.gap);
    EXPECT_FALSE(got.peaks[1].flags.gap);
}

TEST(FindPeaks, FindsSmallPeaksInATraceWithoutNoise) {
    for (double const quantum : {0.0, 1e-6}) {
        SyntheticDetector d;
        d.peaks = {{1000, 60, 1, 0.4}, {0.02, 100, 1.2, 0.4}};  // 1 : 2e-5
        d.quantum = quantum;
        SynthesisOptions o;
        o.duration_s = 240;
        auto const got = find_peaks(synthesise({d}, o), 1);
        ASSERT_EQ(got.peaks.size(), 2u) << quantum;
        EXPECT_NEAR(got.peaks[0].area / 1000, 1, 1e-4);
        EXPECT_NEAR(got.peaks[1].area / 0.02, 1, 0.05);
    }
}

TEST(FindPeaks, CountsOfAConverterAreNoPeaks) {
    SyntheticDetector d;
    d.peaks = {{5000, 60, 1, 0.4}, {500, 100, 1.2, 0.4}};
    d.drift_per_s = 0.02;  // one count in 50 s
    d.white_noise = 0.4;
    d.quantum = 1;
    SynthesisOptions o;
    o.duration_s = 240;
    auto const got = find_peaks(synthesise({d}, o), 1);
    EXPECT_EQ(got.peaks.size(), 2u);
}

TEST(FindPeaks, AnswersNothingForNothing) {
    Trace trace;
    trace.interval_s = 0.02;
    EXPECT_TRUE(find_peaks(trace, 1).peaks.empty());
    trace.signals = {std::vector<float>(4000, 3.0F)};
    EXPECT_TRUE(find_peaks(trace, 1).peaks.empty());
    EXPECT_EQ(find_peaks(trace, 1).baseline.size(), 4000u);
    EXPECT_TRUE(find_peaks(trace, 2).peaks.empty());
    EXPECT_TRUE(find_peaks(trace, 0).peaks.empty());
}

TEST(FindPeaks, KeepsDetectorsApart) {
    SyntheticDetector a, b;
    a.peaks = {{20, 60, 1, 0.3}}, b.peaks = {{30, 90, 1, 0.3}};
    a.white_noise = b.white_noise = 0.001;
    auto const trace = synthesise({a, b}, {});
    auto const first = find_peaks(trace, 1), second = find_peaks(trace, 2);
    ASSERT_EQ(first.peaks.size(), 1u);
    ASSERT_EQ(second.peaks.size(), 1u);
    EXPECT_EQ(second.peaks[0].detector, 2);
    EXPECT_NEAR(second.peaks[0].area, 30, 0.02);
}

}  // namespace
}  // namespace gw::trace
