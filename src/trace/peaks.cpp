#include "trace/peaks.hpp"

#include <algorithm>
#include <cmath>

#include "trace/background.hpp"
#include "trace/candidates.hpp"
#include "trace/cluster_fit.hpp"
#include "trace/curvature.hpp"
#include "trace/disturbance.hpp"
#include "trace/noise.hpp"
#include "trace/peak_regions.hpp"
#include "trace/peak_areas.hpp"

namespace gw::trace {

std::string_view name(Baseline baseline) {
    switch (baseline) {
        case Baseline::straight: return "straight";
        case Baseline::valley: return "valley";
        case Baseline::drop: return "drop";
        case Baseline::skim: return "skim";
        case Baseline::fitted: return "fitted";
    }
    return "";
}

std::vector<std::string> PeakFlags::names() const {
    std::vector<std::string> out;
    auto const add = [&](bool set, char const* name) {
        if (set) out.emplace_back(name);
    };
    add(cut, "cut"), add(merged, "merged"), add(shoulder, "shoulder"), add(saturated, "saturated");
    add(negative, "negative"), add(gap, "gap"), add(unexpected, "unexpected"), add(fitted, "fitted"), add(rider, "rider");
    return out;
}

DetectorPeaks find_peaks(Trace const& trace, int detector, PeakOptions const& options) {
    DetectorPeaks out;
    if (detector < 1 || static_cast<std::size_t>(detector) > trace.signals.size() || trace.samples() < 16) return out;
    auto const& raw = trace.signals[static_cast<std::size_t>(detector - 1)];
    std::vector<double> y(raw.begin(), raw.end());
    double const dt = trace.interval_s;
    auto const [low, high] = std::minmax_element(y.begin(), y.end());
    // No converter and no printed table resolves a millionth of the range: ripple below it is no peak.
    double const floor = 1e-6 * (*high - *low);
    double const fast = std::max(fast_noise(y), floor);
    if (!(fast > 0)) {  // a constant signal
        out.baseline.assign(raw.begin(), raw.end());
        return out;
    }
    auto const disturbances = remove_disturbances(y, trace.start_s, dt, fast, options.events, options.narrowest_half_width_s);
    for (auto const& d : disturbances) out.kicks.push_back({d.at_s, d.known ? "valve event" : "disturbance"});

    Regions regions{y, trace, fast, disturbances, options};
    regions.settle();
    regions.measure();
    out.peaks = measured_peaks(regions, raw, detector, options);

    out.noise.rms = regions.rms;
    double st = 0, sl = 0, stt = 0, stl = 0;
    auto const n = static_cast<double>(y.size());
    for (std::size_t i = 0; i < y.size(); ++i) {
        double const t = trace.time(i);
        st += t, sl += regions.ground.level[i], stt += t * t, stl += t * regions.ground.level[i];
    }
    double const spread = stt - st * st / n;
    out.noise.drift_per_s = spread > 0 ? (stl - st * sl / n) / spread : 0;
    out.baseline.assign(regions.ground.level.begin(), regions.ground.level.end());
    out.warnings = trace.warnings;
    return out;
}

}  // namespace gw::trace
