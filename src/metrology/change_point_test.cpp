#include "metrology/change_point.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "base/random.hpp"

namespace gw::metrology {
namespace {

std::vector<double> days(std::size_t n) {
    std::vector<double> t(n);
    for (std::size_t i = 0; i < n; ++i) t[i] = 86400.0 * static_cast<double>(i);
    return t;
}

std::vector<double> noise(std::size_t n, std::uint64_t stream, double s = 1) {
    RandomStream random(77, stream);
    std::vector<double> y(n);
    for (double& v : y) v = s * random.normal();
    return y;
}

TEST(Change, FewerThanTenPointsHoldNoAnswer) {
    auto const t = days(9);
    auto const c = find_change(t, std::vector<double>{0, 0, 0, 0, 9, 9, 9, 9, 9});
    EXPECT_FALSE(c.enough);
    EXPECT_EQ(c.kind, ChangeKind::none);
}

TEST(Change, EqualReadingsHoldNone) {
    auto const c = find_change(days(20), std::vector<double>(20, 1e7 + 0.1));
    EXPECT_TRUE(c.enough);
    EXPECT_EQ(c.kind, ChangeKind::none);
}

TEST(Change, FindsAStepItsSizeAndItsDate) {
    auto y = noise(120, 1);
    for (std::size_t i = 70; i < y.size(); ++i) y[i] += 3;
    auto const c = find_change(days(120), y);
    ASSERT_EQ(c.kind, ChangeKind::step);
    EXPECT_NEAR(c.step.at / 86400, 69.5, 1.01);
    EXPECT_LE(c.step.from / 86400, 69);
    EXPECT_GE(c.step.to / 86400, 70);
    EXPECT_NEAR(c.step.size, 3, 3 * c.step.u_size);
    EXPECT_NEAR(c.step.u_size, std::sqrt(1 / 70. + 1 / 50.), 0.05);
}

TEST(Change, FindsADriftItsSlopeAndItsOnset) {
    auto y = noise(200, 2);
    for (std::size_t i = 120; i < y.size(); ++i) y[i] += 0.1 * static_cast<double>(i - 120);
    auto const c = find_change(days(200), y);
    ASSERT_EQ(c.kind, ChangeKind::drift);
    EXPECT_LE(c.drift.from / 86400, 120);
    EXPECT_GE(c.drift.to / 86400, 120);
    EXPECT_NEAR(c.drift.slope * 86400, 0.1, 0.02);
    EXPECT_NEAR(c.drift.size, 7.9, 3 * c.drift.u_size);
}

TEST(Change, WithoutNoiseTheOnsetIsExactAndTheUnitsOfTimeDoNotMatter) {
    std::vector<double> y(60), t = days(60), hours(60);
    for (std::size_t i = 0; i < 60; ++i) {
        y[i] = 100 + (i > 25 ? 0.2 * (static_cast<double>(i) - 25.5) : 0.0);
        hours[i] = t[i] / 3600;
    }
    auto const a = find_change(t, y), b = find_change(hours, y);
    ASSERT_EQ(a.kind, ChangeKind::drift);
    EXPECT_NEAR(a.drift.at / 86400, 25.5, 0.05);
    EXPECT_NEAR(a.drift.at / 3600, b.drift.at, 1e-6);
}

// The rate that is promised: one in a hundred, here one in twenty so that the count is short.
TEST(Change, FindsNoneWhereThereIsNoneAsOftenAsItSays) {
    ChangeOptions options;
    options.significance = 0.05;
    int found = 0;
    constexpr int series = 400;
    for (int i = 0; i < series; ++i)
        found +=
            find_change(days(60), noise(60, 1000 + static_cast<std::uint64_t>(i)), options).kind !=
                    ChangeKind::none
                ? 1
                : 0;
    EXPECT_GE(found, 8);  // 20 expected, standard deviation 4.4
    EXPECT_LE(found, 34);
}

// The interval that is promised, for an onset somewhere in the middle half.
TEST(Change, IntervalsHoldTheTrueDateAsOftenAsTheySay) {
    int drift_held = 0, drifts = 0, step_held = 0, steps = 0;
    for (std::uint64_t i = 0; i < 200; ++i) {
        double const onset = 30 + 0.3 * static_cast<double>(i % 200);
        auto y = noise(120, 5000 + i), z = noise(120, 9000 + i);
        for (std::size_t d = 0; d < y.size(); ++d) {
            double const after = static_cast<double>(d) - onset;
            if (after > 0) {
                y[d] += 0.1 * after;
                z[d] += 2;
            }
        }
        auto const drift = find_change(days(120), y).drift;
        ++drifts;
        drift_held += drift.from <= 86400 * onset && 86400 * onset <= drift.to ? 1 : 0;
        auto const step = find_change(days(120), z).step;
        ++steps;
        step_held += step.from <= 86400 * onset && 86400 * onset <= step.to ? 1 : 0;
    }
    EXPECT_GE(drift_held, 0.90 * drifts);
    EXPECT_LE(drift_held, 0.99 * drifts);
    EXPECT_GE(step_held, 0.92 * steps);  // a step's set is known to hold more than it says
}

TEST(Change, NeighboursThatGoTogetherWidenTheInterval) {
    auto y = noise(300, 3);
    double last = 0;
    for (double& v : y) v = last = 0.8 * last + 0.6 * v;
    int found = 0;
    for (std::uint64_t i = 0; i < 60; ++i) {
        auto z = noise(150, 20000 + i);
        double before = 0;
        for (double& v : z) v = before = 0.7 * before + v;
        found += find_change(days(150), z).kind != ChangeKind::none ? 1 : 0;
    }
    EXPECT_LE(found, 12) << "a wandering series is no changed one";
    auto const c = find_change(days(300), y);
    EXPECT_GT(c.correlation, 0.5);
}

TEST(Change, ALongSeriesIsAveragedFirst) {
    auto y = noise(50000, 4);
    for (std::size_t i = 30000; i < y.size(); ++i) y[i] += 0.2;
    auto const c = find_change(days(50000), y);
    EXPECT_EQ(c.points, 400U);
    ASSERT_EQ(c.kind, ChangeKind::step);
    EXPECT_NEAR(c.step.at / 86400, 30000, 300);
    EXPECT_NEAR(c.step.size, 0.2, 0.03);
}

}  // namespace
}  // namespace gw::metrology
