// What a cut takes, against shapes whose lost part is known in closed form.
#include "trace/cut_loss.hpp"

#include <gtest/gtest.h>

#include "base/random.hpp"
#include "trace/synthesis.hpp"

namespace gw::trace {
namespace {

// One peak whose signal is on the detector only before `at_s`, or only after it.
Trace cut_trace(Emg const& peak, double at_s, bool front, double white, std::uint64_t seed) {
    RandomStream random(seed, 5);
    Trace trace;
    trace.interval_s = 0.02;
    std::vector<float> y(6000);
    for (std::size_t i = 0; i < y.size(); ++i) {
        double const t = trace.time(i);
        double const on =
            front ? (t >= at_s ? value(peak, t) : 0) : (t < at_s ? value(peak, t) : 0);
        y[i] = static_cast<float>(4 + 0.0003 * t + on + white * random.normal());
    }
    trace.signals = {std::move(y)};
    return trace;
}

struct Seen {
    double lost{}, said{}, u{};
};

std::optional<Seen> seen(
    Emg const& peak, double at_s, bool front, double white, std::uint64_t seed) {
    PeakOptions options;
    options.events = {{at_s, "valve"}};
    auto const got = find_peaks(cut_trace(peak, at_s, front, white, seed), 1, options);
    if (got.peaks.size() != 1 || !got.peaks[0].cut) return std::nullopt;
    auto const& cut = *got.peaks[0].cut;
    EXPECT_EQ(cut.front, front);
    EXPECT_NEAR(cut.at_s, at_s, 0.03);
    EXPECT_TRUE(got.peaks[0].flags.cut);
    if (!cut.lost_percent) return std::nullopt;
    double const before = area_before(peak, at_s) / peak.area;
    return Seen{100 * (front ? before : 1 - before), *cut.lost_percent, *cut.u_percent};
}

TEST(CutLoss, SaysWhatAValveTookOffTheBack) {
    int told = 0, covered = 0;
    for (std::uint64_t seed = 0; seed < 12; ++seed)
        for (double const after : {0.4, 0.9, 1.6, 2.2}) {
            Emg const peak{20, 60, 1, 0.2 + 0.05 * static_cast<double>(seed)};
            auto const s = seen(peak, 60 + after, false, 0.003, seed);
            if (!s) continue;
            ++told;
            covered += std::abs(s->said - s->lost) < 2 * s->u ? 1 : 0;
            EXPECT_NEAR(s->said, s->lost, 4 * s->u + 0.1) << after << ", " << seed;
        }
    EXPECT_GE(told, 40);
    EXPECT_GE(covered, told * 9 / 10);
}

TEST(CutLoss, SaysWhatAValveTookOffTheFront) {
    int told = 0, covered = 0;
    for (std::uint64_t seed = 0; seed < 12; ++seed)
        for (double const before : {2.2, 1.7, 1.4}) {
            Emg const peak{60, 60, 1.2, 0.3 + 0.05 * static_cast<double>(seed)};
            auto const s = seen(peak, 60 - before, true, 0.003, seed);
            if (!s) continue;
            ++told;
            covered += std::abs(s->said - s->lost) < 2 * s->u ? 1 : 0;
            EXPECT_NEAR(s->said, s->lost, 4 * s->u + 0.3) << before << ", " << seed;
        }
    EXPECT_GE(told, 24);
    EXPECT_GE(covered, told * 9 / 10);
}

TEST(CutLoss, SaysNothingOfAWholePeak) {
    PeakOptions options;
    options.events = {{52, "valve"}, {66, "valve"}};
    auto const got = find_peaks(cut_trace({20, 60, 1, 0.3}, 200, false, 0.003, 1), 1, options);
    ASSERT_EQ(got.peaks.size(), 1U);
    EXPECT_FALSE(got.peaks[0].cut);
}

TEST(CutLoss, TakesAnEventOnANarrowFlankForNone) {
    for (double const sigma : {0.3, 0.48, 0.8})
        for (double const away : {-1.5, -0.8, 0.0, 0.8, 1.1, 1.5, 2.0}) {
            PeakOptions options;
            options.events = {{60 + away * sigma, "valve"}};
            auto const got = find_peaks(
                cut_trace({20, 60, sigma, 0.2 * sigma}, 200, false, 0.003, 4), 1, options);
            ASSERT_EQ(got.peaks.size(), 1U) << sigma << " " << away;
            EXPECT_FALSE(got.peaks[0].cut) << sigma << " " << away;
        }
}

TEST(CutLoss, LeavesTheNumberOutWhereTooLittleIsLeft) {
    // Cut on the rising flank: how high it would have risen is anybody's guess.
    PeakOptions options;
    options.events = {{58.6, "valve"}};
    auto const got = find_peaks(cut_trace({20, 60, 1, 0.3}, 58.6, false, 0.02, 2), 1, options);
    for (auto const& p : got.peaks)
        if (p.cut && p.cut->lost_percent) {
            EXPECT_GT(*p.cut->u_percent, 1);
        }
}

}  // namespace
}  // namespace gw::trace
