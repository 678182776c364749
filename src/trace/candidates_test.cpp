#include "trace/candidates.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "base/random.hpp"

namespace gw::trace {
namespace {

TEST(PersistentTops, IgnoresRipplesSmallerThanTheDip) {
    std::vector<double> y(400);
    for (std::size_t i = 0; i < y.size(); ++i) {
        double const t = static_cast<double>(i);
        y[i] = 10 * std::exp(-0.5 * std::pow((t - 100) / 15, 2)) +
               6 * std::exp(-0.5 * std::pow((t - 260) / 20, 2)) + 0.2 * std::sin(t);
    }
    auto const tops = persistent_tops(y, 1, 1, 1);
    ASSERT_EQ(tops.size(), 2u);
    EXPECT_NEAR(static_cast<double>(tops[0]), 100, 4);
    EXPECT_NEAR(static_cast<double>(tops[1]), 260, 4);
    EXPECT_EQ(persistent_tops(y, 1, 8, 1).size(), 1u);
    EXPECT_TRUE(persistent_tops(y, -1, 1, 1).empty());
}

TEST(Candidates, StandsAtEachPeakOnceWithItsScale) {
    RandomStream random(3, 0);
    std::vector<double> y(10000);
    for (std::size_t i = 0; i < y.size(); ++i) {
        double const t = 0.02 * static_cast<double>(i);
        y[i] = 0.01 * random.normal() + 2 * std::exp(-0.5 * std::pow((t - 40) / 0.4, 2)) +
               std::exp(-0.5 * std::pow((t - 120) / 4, 2));
    }
    CandidateOptions o;
    o.noise = 0.01;
    std::vector<Candidate> up;
    for (auto const& c : candidates(y, 0, 0.02, o))
        if (c.response > 0 && c.response > 0.3) up.push_back(c);
    ASSERT_EQ(up.size(), 2u);
    EXPECT_NEAR(up[0].t, 40, 0.05);
    EXPECT_NEAR(up[1].t, 120, 0.3);
    EXPECT_LT(up[0].scale_s, 0.9);
    EXPECT_GT(up[1].scale_s, 2);
}

TEST(Candidates, AreFewInPureNoise) {
    int found = 0;
    for (std::uint64_t run = 0; run < 40; ++run) {
        RandomStream random(4, run);
        std::vector<double> y(6000);
        for (double& v : y) v = random.normal();
        CandidateOptions o;
        o.noise = 1;
        for (auto const& c : candidates(y, 0, 0.02, o))  // the ends have less to lean on
            if (c.t > 10 && c.t < 110) ++found;
    }
    EXPECT_LE(found, 2);
}

}  // namespace
}  // namespace gw::trace
