#include "trace/background.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "base/random.hpp"

namespace gw::trace {
namespace {

TEST(Background, IsExactOnAStraightLineAcrossAPeak) {
    std::vector<double> y(6000);
    std::vector<bool> free(y.size(), true);
    for (std::size_t i = 0; i < y.size(); ++i) {
        double const t = 0.02 * static_cast<double>(i);
        y[i] = 5 - 0.03 * t + 50 * std::exp(-0.5 * std::pow((t - 60) / 1, 2));
        if (std::abs(t - 60) < 8) free[i] = false;
    }
    auto const b = background(y, free, 0, 0.02, {});
    for (std::size_t i = 0; i < y.size(); ++i)
        EXPECT_NEAR(b.level[i], 5 - 0.03 * 0.02 * static_cast<double>(i), 2e-5);
}

TEST(Background, StepsWhereItMay) {
    std::vector<double> y(6000, 1.0);
    for (std::size_t i = 3000; i < y.size(); ++i) y[i] = 4;
    auto const b = background(y, std::vector<bool>(y.size(), true), 0, 0.02, {90, {60.0}});
    EXPECT_NEAR(b.level[2999], 1, 0.01);
    EXPECT_NEAR(b.level[3000], 4, 0.01);
}

TEST(Background, KnowsHowSureItIs) {
    // Scatter of the mean level under a peak over many noisy runs against the stated uncertainty.
    std::vector<bool> free(6000, true);
    for (std::size_t i = 2800; i < 3200; ++i) free[i] = false;
    double squares = 0, stated = 0;
    int const runs = 60;
    for (int run = 0; run < runs; ++run) {
        RandomStream random(5, static_cast<std::uint64_t>(run));
        std::vector<double> y(6000);
        for (double& v : y) v = random.normal();
        auto const b = background(y, free, 0, 0.02, {});
        double mean = 0;
        for (std::size_t i = 2800; i < 3200; ++i) mean += b.level[i] / 400;
        squares += mean * mean;
        stated = b.u_mean(2800, 3200);
    }
    EXPECT_NEAR(std::sqrt(squares / runs) / stated, 1, 0.35);
}

TEST(Background, WithNothingFreeIsTheLeastValue) {
    std::vector<double> const y(200, 3.0);
    auto const b = background(y, std::vector<bool>(200, false), 0, 0.02, {});
    EXPECT_EQ(b.level[100], 3);
}

TEST(Background, TellsTheInfluenceOfABinThatTheRecordOnlyBegins) {
    // Records of every length about a knot: the last bin's middle may lie beyond the last spline.
    for (std::size_t n = 900; n < 1100; ++n) {
        std::vector<double> y(n, 1.0);
        auto const ground = background(y, std::vector<bool>(n, true), 0, 0.05, {90, {}});
        std::size_t const bin = 3, bins = (n + bin - 1) / bin;
        auto const influence = ground.influence(100, std::vector<double>(50, 1.0), bin, bins);
        ASSERT_EQ(influence.size(), bins);
        double sum = 0;  // a level that rises by one lifts the sum of fifty samples by fifty
        for (std::size_t b = 0; b < bins; ++b)
            sum += influence[b] * static_cast<double>(std::min(bin, n - b * bin));
        EXPECT_NEAR(sum, 50, 0.01) << n;
    }
}

}  // namespace
}  // namespace gw::trace
