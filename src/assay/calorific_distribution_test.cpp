#include "assay/calorific_distribution.hpp"

#include <gtest/gtest.h>

namespace gw::assay {
namespace {

gas::Composition typical() {
    gas::Composition out;
    for (auto const* c : {"methane", "nitrogen", "ethane", "propane", "n-butane"})
        out.components.push_back(*gas::find_component(c));
    out.x = {0.90, 0.03, 0.05, 0.015, 0.005};
    std::vector<double> const u = {5e-4, 1e-4, 2e-4, 1e-4, 5e-5};
    out.V = SquareMatrix::of_standard_uncertainties(u);
    return gas::normalised(out);
}

TEST(CalorificDistribution, AgreesWithFirstOrderWhereThatHolds) {
    auto const both = calorific_distribution(typical(), {}).value();
    EXPECT_TRUE(both.monte_carlo.stable);
    EXPECT_NEAR(both.monte_carlo.mean, both.linear.value, 3 * both.monte_carlo.tolerance);
    EXPECT_NEAR(both.monte_carlo.u, both.linear.u, 3 * both.monte_carlo.tolerance);
    EXPECT_NEAR(both.monte_carlo.high - both.monte_carlo.low,
                2 * 1.96 * both.linear.u,
                6 * both.monte_carlo.tolerance);
}

TEST(CalorificDistribution, DependsOnTheSeedAndNotOnThreads) {
    metrology::MonteCarloOptions options;
    options.threads = 1;
    auto const one = calorific_distribution(typical(), {}, options).value();
    options.threads = 3;
    auto const three = calorific_distribution(typical(), {}, options).value();
    EXPECT_EQ(one.monte_carlo.mean, three.monte_carlo.mean);
    EXPECT_EQ(one.monte_carlo.trials, three.monte_carlo.trials);
    EXPECT_EQ(one.monte_carlo.shortest_low, three.monte_carlo.shortest_low);
}

}  // namespace
}  // namespace gw::assay
