#include "trace/cluster_fit.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "base/random.hpp"

namespace gw::trace {
namespace {

std::vector<double> sampled(std::vector<Emg> const& peaks, double noise, std::uint64_t run = 0) {
    RandomStream random(6, run);
    std::vector<double> y(1500);
    for (std::size_t i = 0; i < y.size(); ++i) {
        for (auto const& p : peaks) y[i] += value(p, 0.02 * static_cast<double>(i));
        y[i] += noise * random.normal();
    }
    return y;
}

TEST(ClusterFit, ReturnsWhatItIsGivenFromRoughStartValues) {
    std::vector<Emg> const truth{{100, 10, 0.6, 0.3}, {8, 12.6, 0.7, 0.35}, {40, 15.5, 0.8, 0.4}};
    std::vector<Emg> const start{{80, 10.2, 0.8, 0.2}, {12, 12.8, 0.6, 0.2}, {50, 15.7, 1.0, 0.2}};
    auto const fit = fit_cluster(sampled(truth, 0), 0, 0.02, 1e-4, start);
    ASSERT_TRUE(fit.converged);
    for (std::size_t k = 0; k < truth.size(); ++k) {
        EXPECT_NEAR(fit.peaks[k].area / truth[k].area, 1, 2e-3) << k;
        EXPECT_NEAR(fit.peaks[k].mu, truth[k].mu, 0.02) << k;
    }
    EXPECT_LT(fit.largest_departure, 1e-3);
}

TEST(ClusterFit, StatesHowSureItIsOfAnArea) {
    std::vector<Emg> const truth{{10, 10, 0.6, 0.3}, {2, 12.2, 0.7, 0.35}};
    double squares = 0, stated = 0;
    int const runs = 40;
    for (int run = 0; run < runs; ++run) {
        ClusterFitOptions plain;
        plain.model_error = 0;
        auto const fit = fit_cluster(
            sampled(truth, 0.05, static_cast<std::uint64_t>(run)), 0, 0.02, 0.05, truth, plain);
        squares += std::pow(fit.peaks[1].area - 2, 2);
        stated += fit.area_u[1] / runs;
    }
    EXPECT_NEAR(std::sqrt(squares / runs) / stated, 1, 0.4);
}

TEST(ClusterFit, SaysWhenThereIsTooLittleToFit) {
    std::vector<double> const y(5, 1.0);
    auto const fit = fit_cluster(y, 0, 0.02, 0.1, {{1, 0.05, 0.02, 0.01}});
    EXPECT_FALSE(fit.converged);
}

}  // namespace
}  // namespace gw::trace
