#include "visit/settle.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>

#include "base/random.hpp"

namespace gw::visit {
namespace {

using Curve = std::function<double(double)>;

trace::SeriesTable table(std::vector<std::pair<std::string, Curve>> const& columns,
                         std::vector<double> const& noise,
                         std::size_t n = 90,
                         double step = 120) {
    trace::SeriesTable out;
    for (std::size_t i = 0; i < n; ++i) {
        out.t.push_back(step * static_cast<double>(i));
        out.events.emplace_back();
    }
    for (std::size_t c = 0; c < columns.size(); ++c) {
        RandomStream random(4, c);
        trace::SeriesColumn column;
        column.name = columns[c].first;
        for (std::size_t i = 0; i < n; ++i) {
            column.t.push_back(out.t[i]);
            column.y.push_back(columns[c].second(out.t[i]) + noise[c] * random.normal());
            column.row.push_back(i);
        }
        out.columns.push_back(std::move(column));
    }
    return out;
}

bool has(Settlement const& s, char const* cause) {
    return std::find(s.causes.begin(), s.causes.end(), cause) != s.causes.end();
}
Curve steady(double v) {
    return [v](double) { return v; };
}

TEST(Settle, AllMustBeAtRest) {
    auto const limits = SettleLimits{{"oven_c", 0.05}, {"total", 0.05}};
    auto const rest =
        settle(table({{"oven_c", steady(80)}, {"total", steady(100)}}, {0.01, 0.02}), limits);
    EXPECT_TRUE(rest.settled);
    auto const oven = [](double t) { return 80 - 60 * std::exp(-t / 4000); };
    auto const moving =
        settle(table({{"oven_c", oven}, {"total", steady(100)}}, {0.01, 0.02}), limits);
    EXPECT_FALSE(moving.settled);
    ASSERT_TRUE(moving.ready_at);
    double const ready = 4000 * std::log(60 / 0.05);
    EXPECT_LE(*moving.ready_from, ready);
    EXPECT_GE(*moving.ready_to, ready);
    EXPECT_TRUE(moving.causes.empty());
}

TEST(Settle, TellsAHeaterALeakAndTheWeatherApart) {
    auto const limits = SettleLimits{{"oven_c", 0.05}, {"total", 0.05}, {"factor:methane", 1.0}};
    auto const go = [&](Curve oven, Curve total) {
        auto const factor = [total](double t) { return 10 * total(t); };
        return settle(
            table({{"oven_c", std::move(oven)}, {"total", total}, {"factor:methane", factor}},
                  {0.01, 0.02, 0.2}),
            limits);
    };
    auto const heater = go([](double t) { return 60 + 0.004 * t; }, steady(100));
    EXPECT_TRUE(has(heater, "heater"));
    EXPECT_FALSE(has(heater, "leak"));
    EXPECT_FALSE(heater.settled);
    auto const leak = go(steady(80), [](double t) { return 100 - 2e-4 * t; });
    EXPECT_TRUE(has(leak, "leak"));
    EXPECT_FALSE(has(leak, "barometer"));
    EXPECT_FALSE(leak.settled);
    EXPECT_FALSE(leak.ready_at);
    auto const weather = go(steady(80), [](double t) {
        return 100 + 0.4 * std::sin(t / 2000) + 0.2 * std::sin(t / 700 + 1);
    });
    EXPECT_TRUE(has(weather, "barometer"));
    EXPECT_FALSE(has(weather, "leak"));
    EXPECT_FALSE(weather.settled);
    auto const cooling = go([](double t) { return 20 + 60 * std::exp(-t / 9000); }, steady(100));
    EXPECT_TRUE(has(cooling, "heater"));
}

TEST(Settle, WithALoggedBarometerTheWeatherIsNamedWhateverItsCourse) {
    auto const air = [](double t) { return 101 + 0.1 * t / 3600; };
    auto const total = [air](double t) { return 100 * air(t) / 101; };
    auto const s = settle(table({{"total", total}, {"ambient_kpa", air}}, {0.01, 0}),
                          SettleLimits{{"total", 0.05}});
    EXPECT_TRUE(has(s, "barometer"));
    EXPECT_FALSE(has(s, "leak"));
}

TEST(Settle, NothingJudgedIsNothingSettled) {
    auto const s = settle(table({{"total", steady(100)}}, {0.01}), SettleLimits{{"oven_c", 0.05}});
    EXPECT_FALSE(s.settled);
    auto const few =
        settle(table({{"total", steady(100)}}, {0.01}, 5), SettleLimits{{"total", 0.05}});
    EXPECT_FALSE(few.settled);
}

}  // namespace
}  // namespace gw::visit
