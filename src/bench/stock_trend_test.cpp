#include "bench/stock_trend.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace gw::bench {
namespace {

TEST(StockTrend, CountsDaysAlongAStraightFall) {
    // 20 kPa a day from 4200 kPa; 700 kPa is reached 175 days after the first reading.
    auto const t = stock_trend({{0, 4200, {}}, {10, 4000, {}}, {20, 3800, {}}}, 700, 25);
    ASSERT_TRUE(t.days);
    EXPECT_NEAR(*t.kpa_per_day, 20, 1e-9);
    EXPECT_NEAR(*t.days, 155 - 5, 1e-9);
    EXPECT_NEAR(*t.from, *t.days, 1e-6) << "no scatter: no interval";
    EXPECT_NEAR(*t.to, *t.days, 1e-6);
}

TEST(StockTrend, BeginsAnewAfterAFilling) {
    auto const t =
        stock_trend({{0, 900, {}}, {30, 720, {}}, {31, 5000, {}}, {41, 4900, {}}}, 700, 41);
    EXPECT_EQ(t.readings, 2U);
    EXPECT_NEAR(*t.days, 420, 1e-9);
    EXPECT_FALSE(t.from) << "two readings show no scatter";
}

TEST(StockTrend, TakesAColdNightForNoUse) {
    // The same gas at 20 degC and at 0 degC, ideal: the reading falls, the amount does not.
    double const cold = 4000 * 273.15 / 293.15;
    auto const blind = stock_trend({{0, 4000, {}}, {1, cold, {}}}, 700, 1);
    EXPECT_TRUE(blind.days);
    auto const seen = stock_trend({{0, 4000, 20.0}, {1, cold, 0.0}}, 700, 1);
    EXPECT_TRUE(seen.at_one_temperature);
    EXPECT_TRUE(!seen.days || *seen.days > 1e9) << "nothing was used";
}

TEST(StockTrend, ScatterWidensTheIntervalAndMayOpenIt) {
    auto const t =
        stock_trend({{0, 4200, {}}, {10, 4010, {}}, {20, 3790, {}}, {30, 3605, {}}}, 700, 30);
    ASSERT_TRUE(t.from && t.to);
    EXPECT_LT(*t.from, *t.days);
    EXPECT_GT(*t.to, *t.days);
    auto const noise = stock_trend({{0, 4000, {}}, {1, 4100, {}}, {2, 3990, {}}}, 700, 2);
    ASSERT_TRUE(noise.days);
    EXPECT_FALSE(noise.to) << "it may not fall at all";
}

TEST(StockTrend, SaysWhyItSaysNothing) {
    EXPECT_FALSE(stock_trend({}, 700, 0).why.empty());
    EXPECT_FALSE(stock_trend({{0, 4000, {}}, {0.2, 3990, {}}}, 700, 1).why.empty());
    EXPECT_FALSE(stock_trend({{0, 4000, {}}, {9, 4001, {}}}, 700, 9).why.empty());
    auto const empty = stock_trend({{0, 690, {}}}, 700, 3);
    ASSERT_TRUE(empty.days);
    EXPECT_EQ(*empty.days, 0) << "at its least pressure already";
}

}  // namespace
}  // namespace gw::bench
