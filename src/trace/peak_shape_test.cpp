#include "trace/peak_shape.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "trace/emg.hpp"

namespace gw::trace {
namespace {

std::vector<double> sampled(Emg const& p, double dt, std::size_t n) {
    std::vector<double> y(n);
    for (std::size_t i = 0; i < n; ++i) y[i] = value(p, dt * static_cast<double>(i));
    return y;
}

TEST(PeakShape, MeasuresAGaussianBetweenItsSamples) {
    for (double const shift : {0.0, 0.013, 0.031}) {
        auto const y = sampled({10, 10 + shift, 0.5, 0}, 0.05, 400);
        auto const got = peak_shape(y, 0, 400, 200, 1, 100, 0.05, 0);
        EXPECT_NEAR(got.apex_s, 110 + shift, 1e-4);
        EXPECT_NEAR(got.height, 10 / (0.5 * std::sqrt(2 * std::acos(-1.0))), 0.02);
        EXPECT_NEAR(got.width_half_s, 2.3548 * 0.5, 0.003);
        EXPECT_NEAR(got.asymmetry, 1, 0.01);
        EXPECT_TRUE(got.front_reached && got.back_reached);
    }
}

TEST(PeakShape, OfADipIsNegative) {
    auto y = sampled({10, 10, 0.5, 0}, 0.05, 400);
    for (double& v : y) v = -v;
    auto const got = peak_shape(y, 0, 400, 200, -1, 0, 0.05, 0);
    EXPECT_LT(got.height, 0);
    EXPECT_NEAR(got.apex_s, 10, 1e-3);
}

TEST(PeakShape, TakesTwiceTheFlankThatReachesHalfHeight) {
    auto const y = sampled({10, 10, 0.5, 0}, 0.05, 400);
    auto const got =
        peak_shape(y, 0, 206, 200, 1, 0, 0.05, 0);  // the back is cut off above half height
    EXPECT_TRUE(got.front_reached);
    EXPECT_FALSE(got.back_reached);
    EXPECT_NEAR(got.width_half_s, 2.3548 * 0.5, 0.01);
}

}  // namespace
}  // namespace gw::trace
