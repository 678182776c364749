#include "metrology/precision.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "base/random.hpp"
#include "metrology/statistics.hpp"

namespace gw::metrology {
namespace {

// ISO 5725-2:1994 Table 5, two outlying observations; from memory. A simulation of 120000 draws
// reproduces a quantile of 1 % within a few of its last printed digits.
TEST(DoubleGrubbs, CriticalValuesOfTheTable) {
    struct Row {
        std::size_t n;
        double one, five;
    };
    for (auto const& row : {Row{5, 0.0018, 0.0090},
                            Row{6, 0.0116, 0.0349},
                            Row{7, 0.0308, 0.0708},
                            Row{8, 0.0563, 0.1101},
                            Row{10, 0.1150, 0.1864}}) {
        EXPECT_NEAR(double_grubbs_critical(row.n, 0.01), row.one, 0.06 * row.one + 5e-4) << row.n;
        EXPECT_NEAR(double_grubbs_critical(row.n, 0.05), row.five, 0.04 * row.five + 5e-4) << row.n;
    }
}

TEST(Judged, KeepsEveryValueAndSaysWhichStandOut) {
    std::vector<double> one = {10.01, 10.02, 9.99, 10.00, 10.01, 9.98, 11.5};
    auto const single = judged(one);
    ASSERT_EQ(single.size(), one.size());
    EXPECT_EQ(single[6].standing, Standing::outlier);
    EXPECT_FALSE(single[6].reason.empty());
    // Two beside each other hide from the single test.
    std::vector<double> const two = {10.01, 10.02, 9.99, 10.00, 10.01, 9.98, 10.60, 10.61};
    EXPECT_FALSE(grubbs(two).outlier);
    auto const pair = judged(two);
    EXPECT_EQ(pair[6].standing, Standing::outlier);
    EXPECT_EQ(pair[7].standing, Standing::outlier);
}

TEST(Judged, ThreeValuesRejectNothing) {
    for (auto const& each : judged(std::vector<double>{1.0, 1.0001, 50.0}))
        EXPECT_EQ(each.standing, Standing::accepted);
}

// At 1 % (the outlier) and 5 % (both marks together) of clean series, by simulation.
TEST(Judged, FalseAlarmsAreAsRareAsStated) {
    int outliers = 0, marks = 0;
    constexpr int many = 4000;
    for (int i = 0; i < many; ++i) {
        RandomStream random(11, static_cast<std::uint64_t>(i));
        std::vector<double> v(8);
        for (double& each : v) each = random.normal();
        bool any = false, outlier = false;
        for (auto const& each : judged(v)) {
            any = any || each.standing != Standing::accepted;
            outlier = outlier || each.standing == Standing::outlier;
        }
        marks += any ? 1 : 0;
        outliers += outlier ? 1 : 0;
    }
    // Two tests are made, of which the second sees much of what the first does.
    EXPECT_LT(outliers, 0.02 * many);
    EXPECT_GT(outliers, 0.007 * many);
    EXPECT_LT(marks, 0.10 * many);
    EXPECT_GT(marks, 0.04 * many);
}

TEST(Cochran, FindsTheGroupThatScatters) {
    std::vector<std::vector<double>> groups = {
        {1.0, 1.1, 0.9}, {2.0, 2.1, 1.9}, {3.0, 3.1, 2.9}, {4.0, 4.1, 3.9}, {5.0, 9.0, 1.0}};
    auto const c = cochran(groups);
    EXPECT_EQ(c.index, 4U);
    EXPECT_TRUE(c.outlier);
    groups.pop_back();
    EXPECT_FALSE(cochran(groups).outlier);
}

TEST(RunsNeeded, GrowWithScatterAndEndWhereTheCylindersDecide) {
    auto const few = runs_needed(0.02, 0.02, 0.1, 2), many = runs_needed(0.1, 0.02, 0.1, 2);
    EXPECT_GT(few, 1U);
    EXPECT_GT(many, few);
    EXPECT_EQ(runs_needed(0.02, 0.06, 0.1, 2), 0U);
    // The answer is the least: one run fewer is not enough.
    auto const U = [](std::size_t n) {
        std::vector<double> const u = {0.1 / std::sqrt(static_cast<double>(n)), 0.02};
        std::vector<double> const df = {static_cast<double>(n - 1), 0};
        return coverage_factor(2, effective_degrees_of_freedom(u, df)) * std::hypot(u[0], u[1]);
    };
    EXPECT_LE(U(many), 0.1);
    EXPECT_GT(U(many - 1), 0.1);
}

}  // namespace
}  // namespace gw::metrology
