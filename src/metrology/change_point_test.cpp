#include <gtest/gtest.h>

#include <cmath>

#include "base/random.hpp"
#include "metrology/control_chart.hpp"

namespace gw::metrology {
namespace {

struct Series {
    std::vector<double> t, y;
};
template <class F>
Series series(std::size_t n, std::uint64_t seed, F&& f) {
    Series out;
    RandomStream random(seed, 3);
    for (std::size_t i = 0; i < n; ++i) {
        out.t.push_back(static_cast<double>(i));
        out.y.push_back(f(out.t.back()) + random.normal());
    }
    return out;
}

TEST(ChangePoint, FindsNothingInQuietSeriesAsOftenAsStated) {
    int found = 0;
    for (std::uint64_t seed = 0; seed < 400; ++seed) {
        auto const s = series(60, seed, [](double) { return 5.0; });
        if (change_point(s.t, s.y).change != Change::none) ++found;
    }
    EXPECT_LE(found, 12);  // 1 % of 400, and what chance adds to it
}

TEST(ChangePoint, DatesADriftAndItsIntervalHoldsTheTruth) {
    int found = 0, inside = 0;
    for (std::uint64_t seed = 0; seed < 200; ++seed) {
        auto const s =
            series(100, seed, [](double t) { return 5.0 + 0.15 * std::max(t - 60, 0.0); });
        auto const c = change_point(s.t, s.y);
        if (c.change != Change::drift) continue;
        ++found;
        if (c.from <= 60 && 60 <= c.to) ++inside;
    }
    EXPECT_GE(found, 180);
    EXPECT_GE(inside, 0.88 * found);
    EXPECT_LE(inside, 0.995 * found);
}

TEST(ChangePoint, DatesAStepBetweenTwoReadings) {
    auto const s = series(60, 1, [](double t) { return t < 30 ? 5.0 : 10.0; });
    auto const c = change_point(s.t, s.y);
    EXPECT_EQ(c.change, Change::step);
    EXPECT_NEAR(c.at, 29.5, 1e-9);
    EXPECT_NEAR(c.after - c.before, 5, 4 * c.u_after);
    auto const few = series(7, 1, [](double t) { return t < 4 ? 5.0 : 50.0; });
    EXPECT_EQ(change_point(few.t, few.y).change, Change::none);
}

}  // namespace
}  // namespace gw::metrology
