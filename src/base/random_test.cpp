#include "base/random.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace gw {
namespace {

// Source: known-answer vectors published with Salmon et al. 2011 (from memory, philox4x32-10).
TEST(Philox, AgreesWithItsKnownAnswers) {
    auto const zero = philox({0, 0, 0, 0}, {0, 0});
    EXPECT_EQ(zero[0], 0x6627e8d5U);
    EXPECT_EQ(zero[1], 0xe169c58dU);
    EXPECT_EQ(zero[2], 0xbc57ac4cU);
    EXPECT_EQ(zero[3], 0x9b00dbd8U);
}

TEST(RandomStream, HasTheMomentsOfANormalDeviate) {
    RandomStream r(7, 1);
    constexpr int n = 200000;
    double m1 = 0, m2 = 0, m4 = 0;
    for (int i = 0; i < n; ++i) {
        double const z = r.normal();
        m1 += z, m2 += z * z, m4 += z * z * z * z;
    }
    EXPECT_NEAR(m1 / n, 0, 5 / std::sqrt(n));
    EXPECT_NEAR(m2 / n, 1, 5 * std::sqrt(2.0 / n));
    EXPECT_NEAR(m4 / n, 3, 5 * std::sqrt(96.0 / n));
}

TEST(RandomStream, RepeatsForTheSameSeedAndDiffersForAnother) {
    RandomStream a(1, 2), b(1, 2), c(1, 3);
    double const first = a.uniform();
    EXPECT_EQ(first, b.uniform());
    EXPECT_NE(first, c.uniform());
}

}  // namespace
}  // namespace gw
