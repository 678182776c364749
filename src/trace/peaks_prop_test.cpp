#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

#include "trace/random_runs.hpp"

namespace gw::trace {
namespace {

// Laws that hold for any run. The samples are float32, so changed signals are rounded anew: the
// tolerances are some roundings of the offset and of the tallest peak, on top of a part of the
// noise.

RandomRun any_run() {
    RunKind kind;
    kind.least_gap =
        2.5;  // which of two close peaks a borderline fit prefers may hang on a rounding
    return random_run(kind, 21, *rc::gen::inRange<std::uint64_t>(0, 400));
}

Trace changed(Trace trace, std::function<double(double, double)> const& change) {
    for (auto& signal : trace.signals)
        for (std::size_t i = 0; i < signal.size(); ++i)
            signal[i] = static_cast<float>(change(signal[i], trace.time(i)));
    return trace;
}

double tolerance(Peak const& p) { return 0.3 * p.area_u + 2e-4 * std::abs(p.area); }

RC_GTEST_PROP(FindPeaksLaws, ScalingTheSignalScalesAreasAndHeights, ()) {
    auto const run = any_run();
    double const factor = std::exp2(*rc::gen::inRange(-8, 9));  // exact in float32
    auto const a = find_peaks(run.trace, 1),
               b = find_peaks(changed(run.trace, [&](double y, double) { return factor * y; }), 1);
    RC_ASSERT(a.peaks.size() == b.peaks.size());
    for (std::size_t k = 0; k < a.peaks.size(); ++k) {
        RC_ASSERT(std::abs(b.peaks[k].area - factor * a.peaks[k].area) <=
                  1e-6 * std::abs(factor * a.peaks[k].area) + 1e-3 * factor * a.peaks[k].area_u);
        RC_ASSERT(std::abs(b.peaks[k].height - factor * a.peaks[k].height) <=
                  1e-5 * std::abs(factor * a.peaks[k].height));
    }
}

RC_GTEST_PROP(FindPeaksLaws, AStraightLineUnderTheRunChangesNoArea, ()) {
    auto const run = any_run();
    double const offset = 0.1 * *rc::gen::inRange(-300, 300),
                 slope = 1e-4 * *rc::gen::inRange(-30, 30);
    auto const a = find_peaks(run.trace, 1),
               b = find_peaks(
                   changed(run.trace, [&](double y, double t) { return y + offset + slope * t; }),
                   1);
    RC_ASSERT(a.peaks.size() == b.peaks.size());
    for (std::size_t k = 0; k < a.peaks.size(); ++k)
        RC_ASSERT(std::abs(a.peaks[k].area - b.peaks[k].area) < tolerance(a.peaks[k]));
}

RC_GTEST_PROP(FindPeaksLaws, ShiftingTheTimeShiftsTheApexes, ()) {
    auto const run = any_run();
    double const shift = *rc::gen::inRange(-100, 100);
    Trace later = run.trace;
    later.start_s += shift;
    auto const a = find_peaks(run.trace, 1), b = find_peaks(later, 1);
    RC_ASSERT(a.peaks.size() == b.peaks.size());
    for (std::size_t k = 0; k < a.peaks.size(); ++k) {
        RC_ASSERT(std::abs(a.peaks[k].apex_s + shift - b.peaks[k].apex_s) < 1e-3);
        RC_ASSERT(std::abs(a.peaks[k].area - b.peaks[k].area) < tolerance(a.peaks[k]));
    }
}

RC_GTEST_PROP(FindPeaksLaws, ReversingTheSignTurnsPeaksIntoNegativeOnes, ()) {
    RunKind kind;
    kind.least_gap = 5, kind.gap = 9;  // overlapped dips are not fitted
    auto const run = random_run(kind, 22, *rc::gen::inRange<std::uint64_t>(0, 400));
    auto const b = find_peaks(changed(run.trace, [](double y, double) { return -y; }), 1);
    // Tall ones stand for all: a dip needs more evidence than a peak.
    for (auto const& p : run.truth) {
        if (p.height < 300 * run.white_noise) continue;
        bool const seen = std::any_of(b.peaks.begin(), b.peaks.end(), [&](Peak const& got) {
            return got.flags.negative && std::abs(got.apex_s - p.apex_s) < 0.05 &&
                   std::abs(got.area / p.area + 1) < 0.01;
        });
        RC_ASSERT(seen);
    }
}

}  // namespace
}  // namespace gw::trace
