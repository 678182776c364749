#include "trace/curvature.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "base/random.hpp"
#include "trace/emg.hpp"
#include "trace/noise.hpp"

namespace gw::trace {
namespace {

TEST(Curvature, AnswersAGaussianOfItsScaleWithItsHeight) {
    for (double const dt : {0.02, 0.1}) {
        for (double const scale : {0.3, 1.0, 4.0}) {
            std::vector<double> y(static_cast<std::size_t>(120 / dt));
            for (std::size_t i = 0; i < y.size(); ++i)
                y[i] = 7 +
                       5 * std::exp(-0.5 * std::pow((dt * static_cast<double>(i) - 60) / scale, 2));
            auto const view = curvature(y, 0, dt, scale);
            double const highest = *std::max_element(view.response.begin(), view.response.end());
            EXPECT_NEAR(highest, 5, 0.12) << dt << ' ' << scale;
            EXPECT_NEAR(
                CurvatureFilter(scale, dt).at(y, static_cast<std::size_t>(60 / dt)), 5, 0.12);
        }
    }
}

TEST(Curvature, SeesNothingInAStraightLineEvenAtItsEnds) {
    std::vector<double> y(3000);
    for (std::size_t i = 0; i < y.size(); ++i) y[i] = 3 + 0.01 * static_cast<double>(i);
    for (double const scale : {0.2, 1.0, 6.0})
        for (double const r : curvature(y, 0, 0.02, scale).response) EXPECT_NEAR(r, 0, 1e-9);
}

TEST(Curvature, KnowsItsOwnNoise) {
    RandomStream random(2, 0);
    std::vector<double> y(40000);
    for (double& v : y) v = random.normal();
    for (double const scale : {0.15, 0.5, 1.5}) {
        auto const view = curvature(y, 0, 0.02, scale);
        EXPECT_NEAR(robust_sd(view.response) / view.white_gain, 1, 0.1) << scale;
    }
}

TEST(MovingMean, KeepsALineAndItsEnds) {
    std::vector<double> y(50);
    for (std::size_t i = 0; i < y.size(); ++i) y[i] = static_cast<double>(i);
    auto const smooth = moving_mean(y, 6);
    for (std::size_t i = 0; i < y.size(); ++i) EXPECT_NEAR(smooth[i], y[i], 1e-9);
}

}  // namespace
}  // namespace gw::trace
