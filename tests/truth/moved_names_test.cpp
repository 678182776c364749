// Shares of right, wrong and missing names over invented layouts and runs that no constant was
// chosen by; `name_truth` prints them for any number of cases.
#include "truth/moved_names.hpp"

#include <gtest/gtest.h>

namespace gw::truth {
namespace {

TEST(MovedNames, SurviveAFlowThatMovedAMissingAndAnExtraPeak) {
    for (Kind const kind : all_kinds) {
        auto const t = named(kind, Story::moved, 700000, 600);
        EXPECT_GT(t.peaks, 3000);
        EXPECT_LE(t.wrong, t.peaks / 1000) << static_cast<int>(kind);
        EXPECT_GT(t.right, t.peaks * (kind == Kind::random ? 0.84 : 0.98))
            << static_cast<int>(kind);
        EXPECT_LE(t.extra_named, t.extra * (kind == Kind::random ? 0.1 : 0.04))
            << static_cast<int>(kind);
    }
}

TEST(MovedNames, AreNotMovedWhereNothingMoved) {
    for (Kind const kind : all_kinds) {
        auto const t = named(kind, Story::still, 710000, 600);
        EXPECT_LE(t.wrong, t.peaks / 1000) << static_cast<int>(kind);
        EXPECT_GT(t.right, t.peaks * 0.995) << static_cast<int>(kind);
    }
}

TEST(MovedNames, AreNotInventedForAnotherAnalysersRun) {
    for (Kind const kind : all_kinds)
        EXPECT_EQ(named(kind, Story::stranger, 720000, 1500).aligned, 0) << static_cast<int>(kind);
}

TEST(MovedNames, AreLeftOutRatherThanWrongWhereGroupsMoveApart) {
    for (Kind const kind : all_kinds) {
        auto const t = named(kind, Story::leak, 730000, 600);
        EXPECT_LE(t.wrong, t.peaks / 500) << static_cast<int>(kind);
        EXPECT_GT(t.right, t.peaks * 0.9) << static_cast<int>(kind);
    }
}

}  // namespace
}  // namespace gw::truth
