#include "trace/emg.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace gw::trace {
namespace {

// Check values: the closed form of Grushka 1972 evaluated in extended precision (analytic).
TEST(EmgValue, IsRightInEveryRegime) {
    auto const at = [](double tau, double t) { return value({1, 0, 1, tau}, t); };
    auto const near = [](double got, double want) { EXPECT_NEAR(got / want, 1, 1e-9); };
    near(at(0.02, -6), 5.4231671764922784e-09);
    near(at(0.02, 0), 0.39878289459965066);
    near(at(0.02, 3), 0.004712600916360537);
    near(at(1, -8), 5.546751131104806e-16);
    near(at(1, 0), 0.2615782918651234);
    near(at(1, 30), 1.5428112031918877e-13);
    near(at(10, 200), 2.071485197965459e-10);
}

TEST(EmgValue, JoinsItsBranchesWithoutAStep) {
    // Both tails are within a millionth of sigma of the border, so the true values differ by at
    // most 2e-6 x 0.25 (the steepest slope of the shape), and the Gaussian that stands in below the
    // border errs by half the tail squared times the second derivative: 5e-7 x 0.4.
    double const below = value({1, 0, 1, 0.999e-3}, 0.3), above = value({1, 0, 1, 1.001e-3}, 0.3);
    EXPECT_NEAR(below, above, 2e-6 * 0.25 + 5e-7 * 0.4);
    // The function itself falls by 1.1e-11 between the two: only what is beyond its slope
    // (2 x erfcx(x) - 2/sqrt(pi)) is a step. exp(x^2) is good to x^2 roundings, 1e-14.
    double const slope = 20 * erfcx(10) - 2 / std::sqrt(std::acos(-1.0));
    EXPECT_NEAR(erfcx(10 + 1e-9) - erfcx(10 - 1e-9), 2e-9 * slope, 3e-15);
}

TEST(EmgValue, IntegratesToItsArea) {
    Emg const peak{3, 10, 0.7, 1.1};
    double sum = 0;
    for (int i = 0; i < 6000; ++i) {
        double const t = 0.01 * i;
        double const here = value(peak, t);
        if (i % 500 == 0) {
            EXPECT_NEAR(area_before(peak, t), (sum + 0.5 * here) * 0.01, 1e-4) << t;
        }
        sum += here;
    }
    EXPECT_NEAR(sum * 0.01, 3, 1e-9);
    EXPECT_NEAR(area_before(peak, 60), 3, 1e-9);
    EXPECT_NEAR(area_before(peak, 0), 0, 1e-12);
}

TEST(EmgValue, DerivativesAgreeWithDifferences) {
    for (double const tau : {0.05, 0.4, 2.0}) {
        Emg const peak{2, 5, 0.8, tau};
        for (double t = 2; t < 12; t += 0.7) {
            auto const exact = derivatives(peak, t);
            auto const difference = [&](double Emg::*member) {
                double const h = 1e-5;
                Emg up = peak, down = peak;
                up.*member += h, down.*member -= h;
                return (value(up, t) - value(down, t)) / (2 * h);
            };
            EXPECT_NEAR(exact.d[0], difference(&Emg::area), 1e-8);
            EXPECT_NEAR(exact.d[1], difference(&Emg::mu), 1e-8);
            EXPECT_NEAR(exact.d[2], difference(&Emg::sigma), 1e-8);
            EXPECT_NEAR(exact.d[3], difference(&Emg::tau), 1e-7);
        }
    }
}

}  // namespace
}  // namespace gw::trace
