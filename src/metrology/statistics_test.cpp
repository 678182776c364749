#include "metrology/statistics.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace gw::metrology {
namespace {

TEST(Statistics, AnswersForNoValuesAndOne) {
    EXPECT_EQ(mean({}), 0);
    EXPECT_EQ(standard_deviation({}), 0);
    EXPECT_EQ(median({}), 0);
    std::vector<double> const one = {7};
    EXPECT_EQ(mean(one), 7);
    EXPECT_EQ(standard_deviation(one), 0);
    EXPECT_EQ(median(one), 7);
    EXPECT_EQ(median({4, 1, 3, 2}), 2.5);
    EXPECT_EQ(median({3, 1, 2}), 2);
}

TEST(Statistics, CoverageGrowsForFewRunsAndKeepsTheProbability) {
    EXPECT_EQ(coverage_factor(2, 0), 2);
    EXPECT_EQ(coverage_factor(2, INFINITY), 2);
    // JCGM 100:2008 Table G.2, column 95.45 %
    EXPECT_NEAR(coverage_factor(2, 1), 13.97, 0.005);
    EXPECT_NEAR(coverage_factor(2, 5), 2.65, 0.005);
    EXPECT_NEAR(coverage_factor(2, 10), 2.28, 0.005);
    EXPECT_NEAR(coverage_factor(3, 10), 3.96, 0.005);  // column 99.73 %
    EXPECT_NEAR(coverage_factor(2, 1e9), 2, 1e-6);
}

TEST(Statistics, EffectiveDegreesOfFreedomLeaveOutWhatIsWellKnown) {
    std::vector<double> const u = {3, 4};
    EXPECT_EQ(effective_degrees_of_freedom(u, std::vector<double>{0, 0}), 0)
        << "0 stands for infinite";
    EXPECT_DOUBLE_EQ(effective_degrees_of_freedom(u, std::vector<double>{4, 0}),
                     625.0 / (81.0 / 4));
}

TEST(Statistics, QuantilesRefuseWhatHasNoMeaning) {
    for (double const p : {0.0, 1.0, -1.0, 2.0, double(NAN)}) {
        EXPECT_TRUE(std::isnan(student_t(p, 5)));
        EXPECT_TRUE(std::isnan(f_quantile(p, 5, 5)));
        EXPECT_TRUE(std::isnan(chi_squared_quantile(p, 5)));
        EXPECT_TRUE(std::isnan(normal_quantile(p)));
    }
    EXPECT_TRUE(std::isnan(student_t(0.9, 0)));
    EXPECT_TRUE(std::isnan(f_quantile(0.9, 0, 3)));
}

TEST(Grubbs, FlagsNothingWithoutSpreadOrWithTwoValues) {
    for (std::vector<double> const& x :
         {std::vector<double>{1, 100}, {5, 5, 5, 5}, {0.1, 0.1, 0.1}, {}}) {
        auto const g = grubbs(x);
        EXPECT_FALSE(g.straggler || g.outlier);
    }
    EXPECT_EQ(cochran_critical(1, 5, 0.05), 1);
    EXPECT_EQ(critical_range_factor(1), 0);
    EXPECT_TRUE(std::isinf(grubbs_critical(2, 0.05, true)));
}

TEST(Grubbs, TellsAStragglerFromAnOutlier) {
    // Five runs with one off: critical values 1.715 (5 %) and 1.764 (1 %), ISO 5725-2 Table 5.
    std::vector<double> x = {10.0, 10.1, 9.9, 10.0, 10.6};
    auto const straggler = grubbs(x);
    EXPECT_EQ(straggler.index, 4U);
    EXPECT_TRUE(straggler.straggler);
    EXPECT_FALSE(straggler.outlier);
    x[4] = 12;
    auto const outlier = grubbs(x);
    EXPECT_TRUE(outlier.outlier);
    EXPECT_FALSE(outlier.straggler);
}

TEST(CriticalRange, MatchesTheClosedFormForTwoResults) {
    // The range of two is |N(0, sqrt 2)|: 1.959964 sqrt 2.
    EXPECT_NEAR(critical_range_factor(2), normal_quantile(0.975) * std::sqrt(2.0), 1e-9);
}

}  // namespace
}  // namespace gw::metrology
