// Bounds on dense trains of tall peaks: pairs that show no valley, a line that wanders under them,
// kicks at known events. `peak_truth` prints the same figures for any number of runs.
#include "truth/tall_run.hpp"

#include <gtest/gtest.h>

namespace gw::truth {
namespace {

using Seen = Tally::Seen;
bool all(Seen const&) { return true; }
bool tall(Seen const& s) { return s.truth.height > 500; }
bool small(Seen const& s) { return !tall(s); }

Tally tally(std::string const& name, int runs) {
    for (auto const& f : tall_families())
        if (f.name == name) return tally_of(f, 500, runs);
    ADD_FAILURE() << name;
    return {};
}

TEST(TallRuns, PeaksAloneAreRightToAFewParts) {
    for (char const* name : {"dense", "dense, gamma densities"}) {
        auto const t = tally(name, 20);
        EXPECT_EQ(t.missed, 0) << name;
        EXPECT_EQ(t.invented, 0) << name;
        EXPECT_LT(t.error(0.5, all), 0.0003) << name;
        EXPECT_LT(t.error(0.99, all), 0.004) << name;
        EXPECT_GT(t.covered(all), 0.91) << name;
    }
}

TEST(TallRuns, AWanderingLineBetweenThemIsFound) {
    auto const t = tally("dense, wander of 40", 25);
    EXPECT_EQ(t.missed, 0);
    EXPECT_LE(t.invented, 1);
    EXPECT_LT(t.error(0.5, all), 0.001);
    EXPECT_LT(t.error(1, all), 0.05);
    EXPECT_GT(t.covered(all), 0.93);
}

TEST(TallRuns, PairsWithAndWithoutAValleyAreParted) {
    struct Bound {
        char const* name;
        double tall_median, small_median, small_worst;
    };
    for (auto const& b :
         {Bound{"pairs at 1.0", 0.0005, 0.005, 0.03}, Bound{"pairs at 0.7", 0.0015, 0.02, 0.15}}) {
        auto const t = tally(b.name, 20);
        EXPECT_GT(t.count(all), 180U) << b.name;
        EXPECT_EQ(t.missed, 0) << b.name;
        EXPECT_EQ(t.invented, 0) << b.name;
        EXPECT_LT(t.error(0.5, tall), b.tall_median) << b.name;
        EXPECT_LT(t.error(0.5, small), b.small_median) << b.name;
        EXPECT_LT(t.error(1, small), b.small_worst) << b.name;
        EXPECT_GT(t.covered(all), 0.93) << b.name;
        if (t.seen.front().truth.resolution < 0.9) {
            EXPECT_EQ(t.count([](Seen const& s) { return !s.got.flags.merged; }), 0U) << b.name;
        }
    }
}

// Other forms than the fitted one move area from the smaller of two to the larger; that bears it.
TEST(TallRuns, PairsOfAnotherFormAreWrongAndSaySo) {
    for (char const* name : {"pairs at 1.0, gamma densities", "pairs at 0.85, gamma densities"}) {
        auto const t = tally(name, 20);
        EXPECT_GT(t.count(all), 170U) << name;
        EXPECT_GT(t.covered(all), 0.88) << name;
        EXPECT_LT(t.error(0.5, tall), 0.02) << name;
    }
}

TEST(TallRuns, KicksAtKnownEventsCostLittle) {
    auto const t = tally("kicks at five events", 30), without = tally("dense", 30);
    EXPECT_LE(t.missed, 1);
    EXPECT_LE(t.invented, 8);  // beside 150 kicks, anywhere on the flanks
    EXPECT_LT(t.error(0.5, all) - without.error(0.5, all), 0.0005);
    EXPECT_LT(t.error(0.95, all), 0.01);
}

}  // namespace
}  // namespace gw::truth
