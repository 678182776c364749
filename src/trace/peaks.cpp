#include "trace/peaks.hpp"

#include <algorithm>
#include <cmath>

#include "trace/disturbance.hpp"
#include "trace/noise.hpp"
#include "trace/peak_areas.hpp"
#include "trace/peak_regions.hpp"
#include "trace/suspects.hpp"

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

namespace {

// Least-squares slope of equally spaced values.
double slope(std::span<double const> v, double dt) {
    double const middle = 0.5 * static_cast<double>(v.size() - 1);
    double products = 0, squares = 0;
    for (std::size_t i = 0; i < v.size(); ++i) {
        double const u = static_cast<double>(i) - middle;
        products += u * v[i], squares += u * u;
    }
    return squares > 0 ? products / (squares * dt) : 0;
}

// The background as drawn: with the lasting steps that were taken off the signal.
std::vector<float> with_steps(std::vector<double> level, Survey const& survey) {
    for (auto const& d : survey.disturbances)
        if (d.step != 0)
            for (std::size_t i = survey.index(d.at_s); i < level.size(); ++i) level[i] += d.step;
    return {level.begin(), level.end()};
}

}  // namespace

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
    std::vector<Disturbance> disturbances;
    std::vector<std::size_t> suspects;
    Regions regions;
    for (int round = 0; round < 3; ++round) {
        y.assign(raw.begin(), raw.end());
        disturbances = remove_disturbances(y, trace.start_s, dt, fast, options.events, options.narrowest_half_width_s, suspects);
        regions = settle_regions({y, trace.start_s, dt, fast, disturbances, trace.gaps, options});
        auto const more = kicks_among_peaks({y, trace.start_s, dt, fast, disturbances, trace.gaps, options}, regions);
        if (more.empty()) break;
        suspects.insert(suspects.end(), more.begin(), more.end());
    }
    for (auto const& d : disturbances) out.kicks.push_back({d.at_s, d.known ? "valve event" : "disturbance"});
    Survey const survey{y, trace.start_s, dt, fast, disturbances, trace.gaps, options};
    out.peaks = measured_peaks(survey, regions, raw, detector);
    out.noise = {regions.rms, slope(regions.ground.level, dt)};
    out.baseline = with_steps(regions.ground.level, survey);
    out.warnings = trace.warnings;
    return out;
}

}  // namespace gw::trace
