#include "trace/disturbance.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "trace/synthesis.hpp"

namespace gw::trace {
namespace {

struct Cleaned {
    std::vector<double> y, clean;  // after removal; what was there without the kicks
    std::vector<Disturbance> found;
};

Cleaned cleaned(std::vector<SyntheticKick> kicks,
                std::vector<Emg> peaks = {},
                std::vector<SignalEvent> const& events = {},
                double interval_s = 0.02) {
    SyntheticDetector d;
    d.white_noise = 0.01;
    d.peaks = std::move(peaks);
    SynthesisOptions o;
    o.interval_s = interval_s;
    o.duration_s = 100;
    auto const without = synthesise({d}, o);
    d.kicks = std::move(kicks);
    auto const with = synthesise({d}, o);
    Cleaned out;
    out.y.assign(with.signals[0].begin(), with.signals[0].end());
    out.clean.assign(without.signals[0].begin(), without.signals[0].end());
    out.found = remove_disturbances(out.y, 0, interval_s, 0.01, events, 0.4);
    return out;
}

// Mean difference left over [from, to) s.
double left(Cleaned const& c, double from, double to, double dt = 0.02) {
    double sum = 0, n = 0;
    for (auto i = static_cast<std::size_t>(from / dt); i < static_cast<std::size_t>(to / dt); ++i)
        sum += c.y[i] - c.clean[i], n += 1;
    return sum / n;
}

TEST(Disturbance, TakesADecayingKickOffWithItsStep) {
    for (double const dt : {0.02, 0.1}) {
        auto const c = cleaned({{50, 2, 0.5, 0.1}}, {}, {}, dt);
        ASSERT_EQ(c.found.size(), 1u) << dt;
        EXPECT_NEAR(c.found[0].at_s, 50, 1.5 * dt);
        EXPECT_NEAR(c.found[0].step, 0.1, 0.015);
        EXPECT_NEAR(left(c, 50.2, 51, dt), 0, 0.03);
        EXPECT_NEAR(left(c, 55, 90, dt), 0, 0.015);
    }
}

TEST(Disturbance, TakesALaggedKickOff) {
    SyntheticKick kick{50, 2, 0.7};
    kick.rise_s = 0.15;
    auto const c = cleaned({kick});
    ASSERT_GE(c.found.size(), 1u);
    EXPECT_NEAR(left(c, 50, 51), 0, 0.03);
    EXPECT_NEAR(left(c, 51, 54), 0, 0.02);
}

TEST(Disturbance, TakesAPureStepOffAtAKnownEvent) {
    auto const c = cleaned({{50, 0, 0.5, 0.05}}, {}, {{50, "valve"}});
    ASSERT_EQ(c.found.size(), 1u);
    EXPECT_NEAR(c.found[0].step, 0.05, 0.01);
    EXPECT_NEAR(left(c, 51, 90), 0, 0.01);
}

TEST(Disturbance, BridgesASpikeAndKeepsThePeakBeneath) {
    SyntheticKick spike{50.5, 1, 0.05};
    spike.form = KickForm::spike;
    auto const c = cleaned({spike}, {{20, 50, 1.5, 0.5}});
    EXPECT_NEAR(left(c, 49, 52), 0, 0.01);
}

TEST(Disturbance, LeavesPeaksAlone) {
    auto const c = cleaned({}, {{300, 40, 0.3, 0.5}, {800, 60, 1, 0.2}, {0.05, 80, 0.2, 0.3}});
    EXPECT_TRUE(c.found.empty());
    EXPECT_EQ(c.y, c.clean);
}

}  // namespace
}  // namespace gw::trace
