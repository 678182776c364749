#include "trace/synthesis.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace gw::trace {
namespace {

TEST(Synthesis, IsTheSameForASeedAndAnotherForAnother) {
    SyntheticDetector d;
    d.peaks = {{10, 50, 1, 0.3}};
    d.white_noise = 0.01;
    SynthesisOptions o;
    auto const a = synthesise({d}, o), b = synthesise({d}, o);
    EXPECT_EQ(a.signals, b.signals);
    o.run = 1;
    EXPECT_NE(synthesise({d}, o).signals, a.signals);
}

TEST(Synthesis, HoldsTheAreasItWasGiven) {
    SyntheticDetector d;
    d.peaks = {{10, 50, 1, 0.3}};
    d.passages = {{20, 120, 5000}};
    double sum = 0;
    auto const trace = synthesise({d}, {});
    for (float const y : trace.signals[0]) sum += 0.02 * static_cast<double>(y);
    EXPECT_NEAR(sum, 30, 1e-4);
}

TEST(Synthesis, PassagesHaveTheMeanAndVarianceOfTheirPlates) {
    PassagePeak const p{1, 100, 2000};
    double mean = 0, variance = 0, dt = 0.01;
    for (double t = dt; t < 200; t += dt) mean += passage_signal(p, t) * t * dt;
    for (double t = dt; t < 200; t += dt)
        variance += passage_signal(p, t) * (t - mean) * (t - mean) * dt;
    EXPECT_NEAR(mean, 100, 1e-6);
    EXPECT_NEAR(variance, 100.0 * 100 / 2000, 1e-5);
}

TEST(Synthesis, KicksHaveTheFormAskedFor) {
    SyntheticKick kick{10, 3, 0.5, 1};
    EXPECT_EQ(kick_signal(kick, 9.99), 0);
    EXPECT_NEAR(kick_signal(kick, 10), 4, 1e-12);
    EXPECT_NEAR(kick_signal(kick, 40), 1, 1e-12);
    kick.rise_s = 0.1;
    EXPECT_NEAR(kick_signal(kick, 10), 1, 1e-12);
    kick = {10, 3, 0.2};
    kick.form = KickForm::spike;
    EXPECT_NEAR(kick_signal(kick, 10), 3, 1e-12);
    kick.form = KickForm::bipolar;
    EXPECT_NEAR(kick_signal(kick, 9.8), 3, 1e-12);
    EXPECT_NEAR(kick_signal(kick, 10.2), -3, 1e-12);
}

TEST(Synthesis, CountsAndClips) {
    SyntheticDetector d;
    d.peaks = {{100, 50, 1, 0.3}};
    d.high = 20, d.quantum = 0.5;
    auto const trace = synthesise({d}, {});
    for (float const y : trace.signals[0]) {
        EXPECT_LE(y, 20);
        EXPECT_EQ(y, 0.5F * std::round(y / 0.5F));
    }
}

}  // namespace
}  // namespace gw::trace
