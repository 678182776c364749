#include "report/label_layout.hpp"

#include <gtest/gtest.h>

namespace gw::report {
namespace {

TEST(SpreadLabels, LeavesThemWhereTheyWishWhenThereIsRoom) {
    auto const places = spread_labels({{10, 200, 1}, {50, 200, 1}, {90, 200, 1}}, 12, 0);
    ASSERT_EQ(places.size(), 3U);
    EXPECT_DOUBLE_EQ(places[0].at, 10);
    EXPECT_DOUBLE_EQ(places[1].at, 50);
    EXPECT_DOUBLE_EQ(places[2].at, 90);
}

TEST(SpreadLabels, PartsACrowdEvenlyAboutItsMiddle) {
    auto const places = spread_labels({{50, 200, 1}, {50, 200, 1}, {50, 200, 1}}, 10, 0);
    ASSERT_EQ(places.size(), 3U);
    EXPECT_NEAR(places[0].at, 40, 1e-9);
    EXPECT_NEAR(places[1].at, 50, 1e-9);
    EXPECT_NEAR(places[2].at, 60, 1e-9);
}

TEST(SpreadLabels, KeepsThemOffBothEdges) {
    auto const places = spread_labels({{1, 100, 1}, {2, 100, 1}, {99, 80, 1}, {100, 80, 1}}, 10, 5);
    ASSERT_EQ(places.size(), 4U);
    EXPECT_GE(places[0].at, 5);
    EXPECT_LE(places[3].at, 80 + 1e-9);
    for (std::size_t i = 1; i < places.size(); ++i)
        EXPECT_GE(places[i].at - places[i - 1].at, 10 - 1e-9);
}

TEST(SpreadLabels, GivesUpTheLightestWhenThereIsNoRoomForAll) {
    auto const places = spread_labels({{1, 20, 5}, {2, 20, 1}, {3, 20, 7}, {4, 20, 6}}, 10, 0);
    ASSERT_EQ(places.size(), 3U);
    EXPECT_EQ(places[0].wish, 0U);
    EXPECT_EQ(places[1].wish, 2U);
    EXPECT_EQ(places[2].wish, 3U);
    EXPECT_TRUE(spread_labels({{1, -5, 1}}, 10, 0).empty());
}

TEST(RoundTicks, AreRoundAndInside) {
    EXPECT_EQ(round_ticks(0, 300, 6), (std::vector<double>{0, 50, 100, 150, 200, 250, 300}));
    auto const small = round_ticks(-0.031, 0.027, 4);
    ASSERT_GE(small.size(), 2U);
    EXPECT_GE(small.front(), -0.031);
    EXPECT_LE(small.back(), 0.027);
    EXPECT_EQ(tick_decimals(small), 2);
    EXPECT_TRUE(round_ticks(1, 1, 5).empty());
    auto const narrow = round_ticks(21.364, 21.438, 4);
    EXPECT_GE(narrow.size(), 2U);
    EXPECT_EQ(tick_decimals(narrow), 2);
}

}  // namespace
}  // namespace gw::report
