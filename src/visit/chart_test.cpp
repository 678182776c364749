#include "visit/chart.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "base/random.hpp"

namespace gw::visit {
namespace {

trace::SeriesTable life(std::size_t n, double (*drift)(double), double weather = 0) {
    trace::SeriesTable out;
    trace::SeriesColumn total{"total", {}, {}, {}}, air{"ambient_kpa", {}, {}, {}};
    RandomStream random(9, 1);
    for (std::size_t i = 0; i < n; ++i) {
        double const day = static_cast<double>(i), t = 86400 * day;
        double const p = 101 + weather * std::sin(day / 5);
        out.t.push_back(t);
        out.events.emplace_back();
        for (auto* c : {&total, &air}) {
            c->t.push_back(t);
            c->row.push_back(i);
        }
        air.y.push_back(p);
        total.y.push_back((100 + drift(day) + 0.05 * random.normal()) * p / 101);
    }
    out.columns = {total, air};
    return out;
}
double still(double) { return 0; }
double from_day_60(double day) { return -0.01 * std::max(day - 60, 0.0); }

TEST(Charts, TakeTheBarometerOutOfTheTotal) {
    auto const c = charts(life(120, still, 1), {}).value();
    ASSERT_EQ(c.charts.size(), 2U);
    EXPECT_GT(c.charts[0].stretches[0].cusum_signals.size(), 0U);
    EXPECT_EQ(c.charts[1].corrected_for, "barometer");
    // Limits from a few points let a signal or two of 120 pass by chance; weather makes dozens.
    EXPECT_LE(c.charts[1].stretches[0].individual_signals.size(), 4U);
    EXPECT_GT(c.charts[0].stretches[0].individual_signals.size(), 20U);
    EXPECT_EQ(c.charts[1].stretches[0].change.change, metrology::Change::none);
}

TEST(Charts, DateADrift) {
    auto series = life(120, from_day_60);
    auto const c = charts(series, {}).value();
    auto const& s = c.charts[0].stretches[0];
    EXPECT_EQ(s.change.change, metrology::Change::drift);
    EXPECT_LE(s.change.from, 60 * 86400.0);
    EXPECT_GE(s.change.to, 60 * 86400.0);
    ASSERT_FALSE(s.cusum_signals.empty());
    EXPECT_FALSE(s.cusum_signals[0].upward);
    EXPECT_GE(s.cusum_signals[0].at, 60 * 86400.0);
}

TEST(Charts, BeginAgainAtABreak) {
    auto series = life(60, [](double day) { return day < 30 ? 0.0 : 1.0; });
    series.events[30] = "oven module exchanged";
    auto const c = charts(series, {}).value();
    ASSERT_EQ(c.charts[0].stretches.size(), 2U);
    EXPECT_EQ(c.charts[0].stretches[1].event, "oven module exchanged");
    EXPECT_NEAR(c.charts[0].stretches[1].base.centre, 101, 0.05);
    for (auto const& s : c.charts[0].stretches) EXPECT_TRUE(s.cusum_signals.empty());
}

TEST(Charts, FewReadingsSignalNothing) {
    auto const c = charts(life(7, [](double day) { return day > 5 ? 50.0 : 0.0; }), {}).value();
    EXPECT_FALSE(c.charts[0].stretches[0].enough);
    EXPECT_TRUE(c.charts[0].stretches[0].individual_signals.empty());
    EXPECT_FALSE(c.warnings.empty());
}

TEST(Charts, RefuseARunLengthThatNoChartHas) {
    ChartOptions options;
    options.run_length = 1;
    EXPECT_FALSE(charts(life(20, still), options));
    options.run_length = 370;
    options.columns = {"nonsense"};
    EXPECT_FALSE(charts(life(20, still), options));
}

}  // namespace
}  // namespace gw::visit
