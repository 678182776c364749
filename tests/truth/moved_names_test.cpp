// Shares of right, wrong and missing names over invented layouts and runs that no constant was
// chosen by; `name_truth` prints them for any number of cases.
#include "truth/moved_names.hpp"

#include <gtest/gtest.h>

namespace gw::truth {
namespace {

TEST(MovedNames, SurviveAFlowThatMovedAMissingAndAnExtraPeak) {
    for (bool const usual : {true, false}) {
        auto const t = named(usual, Story::moved, 700000, 600);
        EXPECT_GT(t.peaks, 3000);
        EXPECT_LE(t.wrong, t.peaks / 1000) << usual;
        EXPECT_GT(t.right, t.peaks * (usual ? 0.98 : 0.84)) << usual;
        EXPECT_LE(t.extra_named, t.extra * (usual ? 0.04 : 0.1)) << usual;
    }
}

TEST(MovedNames, AreNotMovedWhereNothingMoved) {
    for (bool const usual : {true, false}) {
        auto const t = named(usual, Story::still, 710000, 600);
        EXPECT_LE(t.wrong, t.peaks / 1000) << usual;
        EXPECT_GT(t.right, t.peaks * 0.995) << usual;
    }
}

TEST(MovedNames, AreNotInventedForAnotherAnalysersRun) {
    for (bool const usual : {true, false})
        EXPECT_EQ(named(usual, Story::stranger, 720000, 1500).aligned, 0) << usual;
}

TEST(MovedNames, AreLeftOutRatherThanWrongWhereGroupsMoveApart) {
    for (bool const usual : {true, false}) {
        auto const t = named(usual, Story::leak, 730000, 600);
        EXPECT_LE(t.wrong, t.peaks / 500) << usual;
        EXPECT_GT(t.right, t.peaks * 0.9) << usual;
    }
}

}  // namespace
}  // namespace gw::truth
