#include "base/matrix.hpp"

#include <gtest/gtest.h>

namespace gw {
namespace {

TEST(SquareMatrixTest, PropagatesThroughALinearMap) {
    std::vector<double> const u = {3, 4};
    auto const V = SquareMatrix::of_standard_uncertainties(u);
    std::vector<double> const sum = {1, 1};
    EXPECT_DOUBLE_EQ(quadratic_form(V, sum), 25);
    std::vector<double> const J = {1, 1, 1, -1};
    auto const W = congruence(J, 2, V);
    EXPECT_DOUBLE_EQ(W(0, 0), 25);
    EXPECT_DOUBLE_EQ(W(0, 1), 9 - 16);
    EXPECT_DOUBLE_EQ(W(1, 0), W(0, 1));
}

TEST(SquareMatrixTest, KnowsWhatCannotBeACovariance) {
    SquareMatrix V(2);
    V(0, 0) = V(1, 1) = 1;
    V(0, 1) = V(1, 0) = 0.5;
    EXPECT_TRUE(is_covariance(V));
    V(0, 1) = V(1, 0) = 1.5;
    EXPECT_FALSE(is_covariance(V));
    V(0, 1) = 0.5;
    EXPECT_FALSE(is_covariance(V)) << "not symmetric";
    V(0, 1) = V(1, 0) = 0;
    V(0, 0) = -1;
    EXPECT_FALSE(is_covariance(V));
}

}  // namespace
}  // namespace gw
