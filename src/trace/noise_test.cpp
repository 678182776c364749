#include "trace/noise.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "base/random.hpp"

namespace gw::trace {
namespace {

std::vector<double> white(std::size_t n, double sd) {
    RandomStream random(1, 0);
    std::vector<double> y(n);
    for (double& v : y) v = sd * random.normal();
    return y;
}

TEST(Noise, IsToldFromTheSignalWhateverTheSlopeAndThePeaks) {
    auto y = white(12000, 0.02);
    for (std::size_t i = 0; i < y.size(); ++i) {
        double const t = 0.02 * static_cast<double>(i);
        y[i] += 0.5 * t + 300 * std::exp(-0.5 * std::pow((t - 60) / 1.0, 2));
    }
    EXPECT_NEAR(fast_noise(y).sd / 0.02, 1, 0.05);
}

TEST(Noise, RobustDeviationIgnoresAFewOutliers) {
    auto v = white(2000, 1);
    for (std::size_t i = 0; i < 50; ++i) v[i * 7] = 1000;
    EXPECT_NEAR(robust_sd(v), 1, 0.08);
    EXPECT_EQ(robust_sd({5.0}), 0);
}

TEST(Noise, OfACountedSignalIsNeverBelowItsGrain) {
    auto y = white(5000, 0.05);
    for (double& v : y) v = std::round(v);  // all zero but for chance
    y[10] = 1;
    EXPECT_DOUBLE_EQ(quantum(y), 1);
    EXPECT_GE(fast_noise(y).sd, 1 / std::sqrt(12.0));
    EXPECT_EQ(quantum(white(5000, 1)), 0);  // without repeats there is no grain
}

}  // namespace
}  // namespace gw::trace
