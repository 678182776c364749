#include "metrology/settling.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "base/random.hpp"

namespace gw::metrology {
namespace {

struct Series {
    std::vector<double> t, y;
};

template <class F>
Series series(std::size_t n, double step, double noise, std::uint64_t seed, F&& f) {
    Series out;
    RandomStream random(seed, 7);
    for (std::size_t i = 0; i < n; ++i) {
        out.t.push_back(step * static_cast<double>(i));
        out.y.push_back(f(out.t.back()) + noise * random.normal());
    }
    return out;
}

TEST(Approach, FindsTheEndAndTheTimeOfAFirstOrderApproach) {
    auto const s = series(60, 60, 0, 1, [](double t) { return 80 - 60 * std::exp(-t / 1800); });
    auto const a = approach(s.t, s.y, 0.05);
    EXPECT_EQ(a.motion, Motion::first_order);
    EXPECT_NEAR(*a.time_constant, 1800, 1);
    EXPECT_NEAR(*a.remaining_change, 60 * std::exp(-3540.0 / 1800), 1e-3);
    EXPECT_FALSE(a.settled);
    EXPECT_NEAR(*a.ready_at, 1800 * std::log(60 / 0.05), 5);
}

// T = Ts - (Ts - T0) exp(-t/tau): from 20 to 80 degC with 40 minutes, within 0.1 and 0.02 K.
// Common practice, no source; the times follow from the formula.
TEST(Approach, HeatingUpTakesTheTimeOfTheFormula) {
    auto const s = series(90, 1, 0, 1, [](double t) { return 80 - 60 * std::exp(-t / 40); });
    EXPECT_NEAR(*approach(s.t, s.y, 0.1).ready_at, 255.87718620864587, 0.05);
    EXPECT_NEAR(*approach(s.t, s.y, 0.02).ready_at, 320.2547027060098, 0.05);
}

TEST(Approach, ARampThatEndsInRestIsSeenToRest) {
    auto const s = series(90, 60, 0.01, 1, [](double t) { return std::min(20 + 0.02 * t, 65.0); });
    auto const a = approach(s.t, s.y, 0.05);
    EXPECT_TRUE(a.abrupt);
    EXPECT_TRUE(a.settled);
    EXPECT_NEAR(*a.end_value, 65, 0.01);
}

TEST(Approach, ALongRestAfterAnApproachLosesNoReadings) {
    auto const s = series(240, 60, 0.01, 1, [](double t) { return 80 - 60 * std::exp(-t / 1200); });
    auto const a = approach(s.t, s.y, 0.05);
    EXPECT_LE(a.set_aside.size(), 1U);
    EXPECT_TRUE(a.settled);
    EXPECT_NEAR(*a.ready_at, 1200 * std::log(60 / 0.05), 60);
}

TEST(Approach, SeesAnOvershootAsSecondOrder) {
    auto const s = series(120, 60, 0.002, 1, [](double t) {
        return 80 - 60 * std::exp(-t / 600) + 8 * std::exp(-t / 1500);
    });
    auto const a = approach(s.t, s.y, 0.05);
    EXPECT_EQ(a.motion, Motion::second_order);
    EXPECT_NEAR(*a.end_value, 80, 0.02);
    EXPECT_NEAR(*a.ready_at, 1500 * std::log(8 / 0.05), 300);
}

TEST(Approach, IsStillOrSaysThatTooFewReadingsSayNothing) {
    auto const s = series(40, 60, 0.01, 1, [](double) { return 80.0; });
    auto const a = approach(s.t, s.y, 0.05);
    EXPECT_EQ(a.motion, Motion::still);
    EXPECT_TRUE(a.settled);
    auto const few = series(7, 60, 0.01, 1, [](double) { return 80.0; });
    EXPECT_EQ(approach(few.t, few.y, 0.05).motion, Motion::too_few);
    EXPECT_FALSE(approach(few.t, few.y, 0.05).settled);
}

TEST(Approach, ScatterBeyondTheLimitShowsNothing) {
    auto const s = series(12, 60, 1, 1, [](double) { return 80.0; });
    EXPECT_FALSE(approach(s.t, s.y, 0.05).settled);
}

TEST(Approach, TellsDriftAndWanderFromSettling) {
    auto const drift = series(60, 60, 0.01, 1, [](double t) { return 100 - t / 3600; });
    EXPECT_EQ(approach(drift.t, drift.y, 0.05).motion, Motion::drift);
    EXPECT_FALSE(approach(drift.t, drift.y, 0.05).settled);
    EXPECT_FALSE(approach(drift.t, drift.y, 0.05).ready_at);
    auto const wander =
        series(120, 60, 0.005, 1, [](double t) { return 100 + 0.3 * std::sin(t / 700); });
    EXPECT_EQ(approach(wander.t, wander.y, 0.05).motion, Motion::wander);
}

TEST(Approach, SetsAsideWhatStandsOut) {
    auto s = series(60, 60, 0.01, 1, [](double t) { return 80 - 60 * std::exp(-t / 900); });
    s.y[20] += 15;
    s.y[41] -= 3;
    auto const a = approach(s.t, s.y, 0.05);
    EXPECT_EQ(a.set_aside, (std::vector<std::size_t>{20, 41}));
    EXPECT_NEAR(*a.time_constant, 900, 3);
}

// Coverage by simulation: of the 95 % intervals, 90 to 99 of 100 must hold the true ready time.
struct Coverage {
    int inside = 0, given = 0, false_settled = 0;
};
template <class F>
Coverage coverage(F&& curve, double ready, std::size_t n, double step, double noise) {
    Coverage out;
    constexpr int many = 200;
    for (std::uint64_t seed = 0; seed < many; ++seed) {
        auto const s = series(n, step, noise, seed, curve);
        auto const a = approach(s.t, s.y, 0.05);
        if (a.settled && s.t.back() < ready) ++out.false_settled;
        if (!a.ready_at) continue;
        ++out.given;
        if (*a.ready_from <= ready && ready <= *a.ready_to) ++out.inside;
    }
    return out;
}

TEST(Approach, DrawsItsCurveWhereItWasAskedFor) {
    auto const f = [](double t) { return 80 - 60 * std::exp(-t / 1800); };
    auto const s = series(60, 60, 0.02, 3, f);
    EXPECT_TRUE(approach(s.t, s.y, 0.05).curve.empty()) << "nobody asked";
    ApproachOptions options;
    options.curve_points = 41;
    auto const a = approach(s.t, s.y, 0.05, options);
    ASSERT_EQ(a.curve.size(), 41U);
    EXPECT_DOUBLE_EQ(a.curve.front().t, s.t.front());
    EXPECT_GT(a.curve.back().t, *a.ready_to) << "the forecast is inside";
    for (auto const& p : a.curve) {
        EXPECT_LE(p.low, p.y);
        EXPECT_GE(p.high, p.y);
        EXPECT_NEAR(p.y, f(p.t), 0.5) << p.t;
    }
    auto const width = [&](std::size_t i) { return a.curve[i].high - a.curve[i].low; };
    EXPECT_GT(width(40), 2 * width(10)) << "what is foretold is less sure than what was seen";
    // The answer is the same whether it is drawn or not.
    auto const plain = approach(s.t, s.y, 0.05);
    EXPECT_EQ(*plain.ready_at, *a.ready_at);
    EXPECT_EQ(*plain.ready_to, *a.ready_to);
}

// The curve itself lies inside its band as often as stated; 95 % of 400, three deviations around.
TEST(Approach, BandOfTheCurveIsCalibrated) {
    auto const f = [](double t) { return 80 - 20 * std::exp(-t / 1500); };
    int inside = 0, all = 0;
    for (std::uint64_t seed = 1; seed <= 400; ++seed) {
        auto const s = series(50, 60, 0.05, seed, f);
        ApproachOptions options;
        options.curve_points = 11;
        auto const a = approach(s.t, s.y, 0.05, options);
        if (a.curve.empty()) continue;
        auto const& p = a.curve.back();  // the far end, which is foretold
        ++all;
        if (f(p.t) >= p.low && f(p.t) <= p.high) ++inside;
    }
    ASSERT_GT(all, 390);
    EXPECT_GT(inside, 0.95 * all - 3 * std::sqrt(all * 0.95 * 0.05));
    EXPECT_LE(inside, 0.95 * all + 3 * std::sqrt(all * 0.95 * 0.05));
}

TEST(Approach, DrawsRestAndDriftAndNoWandering) {
    ApproachOptions options;
    options.curve_points = 5;
    auto const rest = series(30, 60, 0.01, 2, [](double) { return 80.0; });
    auto const still = approach(rest.t, rest.y, 0.5, options);
    ASSERT_EQ(still.curve.size(), 5U);
    EXPECT_NEAR(still.curve[2].y, 80, 0.01);
    EXPECT_LT(still.curve[2].high - still.curve[2].low, 0.02);
    auto const slope = series(30, 60, 0.01, 2, [](double t) { return 80 + t / 600; });
    auto const drift = approach(slope.t, slope.y, 0.05, options);
    EXPECT_EQ(drift.motion, Motion::drift);
    ASSERT_EQ(drift.curve.size(), 5U);
    EXPECT_NEAR(drift.curve.back().y, 80 + drift.curve.back().t / 600, 0.02);
    auto const few = approach(std::span(rest.t).first(5), std::span(rest.y).first(5), 0.5, options);
    EXPECT_TRUE(few.curve.empty());
}

TEST(Approach, IntervalOfTheReadyTimeIsCalibrated) {
    struct Case {
        double tau, size, noise;
        std::size_t n;
    };
    for (auto const& c : {Case{1800, 60, 0.02, 60},
                          Case{1800, 60, 0.05, 90},
                          Case{600, 5, 0.02, 40},
                          Case{1200, 20, 0.1, 60}}) {
        auto const curve = [&c](double t) { return 80 - c.size * std::exp(-t / c.tau); };
        double const ready = c.tau * std::log(c.size / 0.05);
        auto const seen = coverage(curve, ready, c.n, 60, c.noise);
        EXPECT_GE(seen.given, 190);
        EXPECT_GE(seen.inside, 0.90 * seen.given) << c.tau << " " << c.noise;
        EXPECT_LE(seen.inside, 0.995 * seen.given) << c.tau << " " << c.noise;
        EXPECT_LE(seen.false_settled, 10);  // 5 % of 200
    }
}

}  // namespace
}  // namespace gw::metrology
