// One column against closed forms: closed-closed vessel, reversal, storage; order of convergence.
#include "oven/band.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "oven/oven_for_tests.hpp"
#include "oven/simulate.hpp"

namespace gw::oven {
namespace {

struct Moments {
    double area{}, mean{}, variance{};
};

Moments moments(std::vector<double> const& y, double interval) {
    Moments m;
    for (std::size_t i = 0; i < y.size(); ++i) {
        m.area += y[i];
        m.mean += y[i] * static_cast<double>(i) * interval;
    }
    m.mean /= m.area;
    for (std::size_t i = 0; i < y.size(); ++i)
        m.variance += y[i] * std::pow(static_cast<double>(i) * interval - m.mean, 2);
    m.variance /= m.area;
    m.area *= interval;
    return m;
}

Moments run(Oven const& oven, double fineness = 1) {
    SimulateOptions options;
    options.fineness = fineness;
    auto const done = simulate(oven, {1.0}, options);
    return moments(done.peaks.at(0).signal, done.interval_s);
}

// Injection: pulse 0.25 s (mean 0.125, variance 0.25^2/12) through a lag of 0.1 s (mean 0.1,
// variance 0.01); cell: lag of 0.1 s. Means and variances of what follows one another add.
constexpr double injection_mean = 0.225, cell_mean = 0.1;
constexpr double injection_variance = 0.25 * 0.25 / 12 + 0.01, cell_variance = 0.01;

TEST(Band, LeavesAClosedVesselWithItsMeanAndVariance) {
    // Levenspiel and Smith 1957, van der Laan 1958: mean = tR, variance = tR^2 (2/Pe - 2 (1 -
    // exp(-Pe))/Pe^2) with Pe = 2N.
    for (double const plates : {150.0, 800.0, 4500.0})
        for (double const k : {0.0, 0.3, 2.0, 5.0}) {
            auto const m = run(one_column(plates, 8, k, 100));
            double const tr = 8 * (1 + k), pe = 2 * plates;
            double const variance = tr * tr * (2 / pe - 2 * -std::expm1(-pe) / (pe * pe));
            EXPECT_NEAR(m.area, 1e4, 1e-4) << plates << " " << k;
            EXPECT_NEAR(m.mean, tr + injection_mean + cell_mean, 2e-3) << plates << " " << k;
            double const want = variance + injection_variance + cell_variance;
            EXPECT_NEAR(m.variance, want, 4e-3 * want) << plates << " " << k;
        }
}

TEST(Band, ComesBackTogetherAfterAReversal) {
    // mean = 2T - t_inj + t0 (1 + k)/N, variance = 2 (T - t_inj) t0 (1 + k)/N + that of injection.
    for (double const k : {6.0, 12.0, 40.0}) {
        auto oven = one_column(800, 3.2, k, 60);
        oven.programme.push_back({12, "reverse"});
        auto const m = run(oven);
        double const mean = 24 - injection_mean + 3.2 * (1 + k) / 800;
        double const variance = 2 * (12 - injection_mean) * 3.2 * (1 + k) / 800;
        EXPECT_NEAR(m.mean, mean + cell_mean, 5e-3) << k;
        double const want = variance + injection_variance + cell_variance;
        EXPECT_NEAR(m.variance, want, 0.02 * want) << k;
    }
}

TEST(Band, SpreadsWhileStored) {
    // 2 D t/(1 + k) of length variance, times ((1 + k) t0/L)^2: 0.5512 s2 for these numbers.
    auto still = one_column(3600, 16.6, 0.6, 200);
    auto stored = still;
    for (auto* oven : {&still, &stored}) {
        oven->columns[0].length_m = 2;
        oven->columns[0].stored_diffusion_m2_s = 0.25e-4;
    }
    stored.programme.push_back({13, "store"});
    stored.programme.push_back({113, "release"});
    auto const a = run(still), b = run(stored);
    EXPECT_NEAR(b.mean - a.mean, 100, 3e-3);
    EXPECT_NEAR(b.variance - a.variance, 0.5512, 0.003 * 0.5512 + 1e-3);
    EXPECT_NEAR(b.area, a.area, 1e-9);
}

TEST(Band, ErrorFallsWithTheGrid) {
    auto oven = one_column(400, 6, 3, 80);
    oven.programme.push_back({17.3, "reverse"});
    auto const signal = [&](double fineness) {
        SimulateOptions options;
        options.fineness = fineness;
        return simulate(oven, {1.0}, options).peaks.at(0).signal;
    };
    auto const finest = signal(8);
    auto const error = [&](double fineness) {
        auto const y = signal(fineness);
        double worst = 0, top = 0;
        for (std::size_t i = 0; i < y.size(); ++i) {
            worst = std::max(worst, std::abs(y[i] - finest[i]));
            top = std::max(top, finest[i]);
        }
        return worst / top;
    };
    double const coarse = error(1), fine = error(2), finer = error(4);
    EXPECT_LT(coarse, 5e-3);
    EXPECT_LT(fine, 0.6 * coarse);
    EXPECT_LT(finer, 0.6 * fine);
}

TEST(Band, KeepsWhatItWasGiven) {
    auto oven = one_column(500, 5, 9, 70);
    oven.columns[0].stored_diffusion_m2_s = 1e-4;
    oven.programme = {{0, "inject"}, {0.17, "reverse"}, {0.3, "store"}, {20.123, "release"}};
    auto const done = simulate(oven, {1.0});
    EXPECT_NEAR(done.balance[0].imbalance(), 0, 1e-12);
    EXPECT_GT(done.balance[0].detected, 0.5);
}

}  // namespace
}  // namespace gw::oven
