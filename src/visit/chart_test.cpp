#include "visit/chart.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "base/random.hpp"

namespace gw::visit {
namespace {

using metrology::ChangeKind;
using metrology::ChartState;

trace::SeriesTable life(std::size_t n,
                        double (*drift)(double),
                        double weather = 0,
                        std::uint64_t stream = 1) {
    trace::SeriesTable out;
    trace::SeriesColumn total{"total", {}, {}, {}}, air{"ambient_kpa", {}, {}, {}};
    RandomStream random(9, stream);
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
double step_of_two_sigma(double day) { return day < 250 ? 0 : 0.1; }
double slow_drift(double day) { return 0.002 * std::max(day - 250, 0.0); }  // 0.04 sigma a day

ChartStretch const& plain(Charts const& c) { return c.charts[0].stretches[0]; }

TEST(Charts, TakeTheBarometerOutOfTheTotal) {
    auto const c = charts(life(120, still, 1), {}).value();
    ASSERT_EQ(c.charts.size(), 2U);
    EXPECT_FALSE(c.charts[0].decides);
    EXPECT_NE(plain(c).chart.state, ChartState::in_control);
    EXPECT_EQ(c.charts[1].corrected_for, "barometer");
    EXPECT_TRUE(c.charts[1].decides);
    EXPECT_EQ(c.charts[1].stretches[0].chart.state, ChartState::in_control);
}

TEST(Charts, DateADrift) {
    auto const c = charts(life(120, from_day_60), {}).value();
    auto const& chart = plain(c).chart;
    ASSERT_EQ(chart.state, ChartState::drift);
    EXPECT_LE(chart.change.drift.from, 60 * 86400.0);
    EXPECT_GE(chart.change.drift.to, 60 * 86400.0);
    ASSERT_FALSE(chart.cusum.empty());
    EXPECT_EQ(chart.cusum[0].direction, -1);
    EXPECT_GE(plain(c).t[chart.cusum[0].index], 60 * 86400.0);
}

// The rates that the defaults promise: a false alarm in ten years of all charts together, and one
// change in a hundred looks back. Of a hundred stable years at most 1 - exp(-1/10) and 1 more call.
TEST(Charts, AStableYearIsSeldomCalledOutOfControl) {
    int called = 0;
    for (std::uint64_t year = 0; year < 100; ++year) {
        auto series = life(365, still, 0, 100 + year);
        series.columns.pop_back();
        auto const c = charts(series, {}).value();
        EXPECT_NEAR(c.false_alarm_days, 3650, 1);
        called += plain(c).chart.state == ChartState::in_control ? 0 : 1;
    }
    EXPECT_LE(called, 19);  // 10.5 expected at most, standard deviation 3
}

TEST(Charts, FindAStepAndADriftOfStatedSize) {
    int steps = 0, dated = 0, drifts = 0, seen_in_time = 0;
    for (std::uint64_t year = 0; year < 20; ++year) {
        auto series = life(365, step_of_two_sigma, 0, 300 + year);
        series.columns.pop_back();
        auto const step = charts(series, {}).value();
        auto const& a = plain(step).chart;
        steps += a.state == ChartState::step ? 1 : 0;
        dated += a.change.step.from <= 250 * 86400.0 && 249 * 86400.0 <= a.change.step.to ? 1 : 0;
        seen_in_time += !a.cusum.empty() && a.cusum[0].index < 270 ? 1 : 0;
        series = life(365, slow_drift, 0, 400 + year);
        series.columns.pop_back();
        auto const drift = charts(series, {}).value();
        drifts += plain(drift).chart.state == ChartState::drift ? 1 : 0;
    }
    EXPECT_GE(steps, 18);         // two sigma
    EXPECT_GE(dated, 17);         // 95 % interval
    EXPECT_GE(seen_in_time, 18);  // within twenty days
    EXPECT_GE(drifts, 18);        // 0.04 sigma a day over 115 days
}

TEST(Charts, BeginAgainAtABreak) {
    auto series = life(60, [](double day) { return day < 30 ? 0.0 : 1.0; });
    series.events[30] = "oven module exchanged";
    auto const c = charts(series, {}).value();
    ASSERT_EQ(c.charts[0].stretches.size(), 2U);
    EXPECT_EQ(c.charts[0].stretches[1].event, "oven module exchanged");
    EXPECT_NEAR(c.charts[0].stretches[1].chart.mean, 101, 0.05);
    for (auto const& s : c.charts[0].stretches) EXPECT_TRUE(s.chart.cusum.empty());
}

TEST(Charts, APassportJudgesTheNewModuleFromItsFirstReading) {
    auto series = life(40, [](double day) { return day < 30 ? 0.0 : 1.0; });
    series.columns.pop_back();
    series.events[30] = "oven module exchanged";
    ChartOptions options;
    options.passport = {{"total", {100, 0.05}}, {"nonsense", {1, 1}}};
    auto const c = charts(series, options).value();
    auto const& after = c.charts[0].stretches[1];
    EXPECT_TRUE(after.passport);
    EXPECT_FALSE(c.charts[0].stretches[0].passport);
    EXPECT_FALSE(after.chart.cusum.empty()) << "twenty sigma off what the passport says";
    ASSERT_FALSE(c.warnings.empty());
    EXPECT_NE(c.warnings.back().find("nonsense"), std::string::npos);
}

TEST(Charts, FewReadingsSignalNothing) {
    auto const c = charts(life(7, [](double day) { return day > 5 ? 50.0 : 0.0; }), {}).value();
    EXPECT_FALSE(plain(c).judged());
    EXPECT_EQ(plain(c).chart.state, ChartState::not_yet);
    EXPECT_TRUE(plain(c).chart.individuals.empty());
    EXPECT_FALSE(c.warnings.empty());
}

TEST(Charts, RefuseARunLengthThatNoChartHas) {
    ChartOptions options;
    options.run_length = 1;
    EXPECT_FALSE(charts(life(20, still), options));
    options.run_length = 370;
    EXPECT_NEAR(charts(life(20, still), options)->limits.individuals, 3, 1e-3);
    options.columns = {"nonsense"};
    EXPECT_FALSE(charts(life(20, still), options));
}

}  // namespace
}  // namespace gw::visit
