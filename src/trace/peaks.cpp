#include "trace/peaks.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "trace/disturbance.hpp"
#include "trace/hidden_peaks.hpp"
#include "trace/kicks_under_peaks.hpp"
#include "trace/noise.hpp"
#include "trace/peak_areas.hpp"
#include "trace/peak_regions.hpp"
#include "trace/settled.hpp"
#include "trace/suspects.hpp"

namespace gw::trace {

std::string_view name(Baseline baseline) {
    switch (baseline) {
        case Baseline::straight:
            return "straight";
        case Baseline::valley:
            return "valley";
        case Baseline::drop:
            return "drop";
        case Baseline::skim:
            return "skim";
        case Baseline::fitted:
            return "fitted";
    }
    return "";
}

std::vector<std::string> PeakFlags::names() const {
    std::vector<std::string> out;
    auto const add = [&](bool set, char const* name) {
        if (set) out.emplace_back(name);
    };
    add(cut, "cut"), add(merged, "merged"), add(shoulder, "shoulder"), add(saturated, "saturated");
    add(negative, "negative"), add(gap, "gap"), add(unexpected, "unexpected"),
        add(fitted, "fitted"), add(rider, "rider");
    return out;
}

namespace {

// The edge where a valve cuts a flank bends like a shoulder; it is none.
bool edge_of_cut(Regions const& r, std::vector<Peak> const& peaks, std::size_t k, bool front) {
    auto const& p = peaks[k];
    if (!p.cut || p.cut->front != front || p.end_s - p.start_s > 1.6 ||
        std::abs((front ? p.start_s : p.end_s) - p.cut->at_s) > 0.6)
        return false;
    if (front ? !r.peaks[k].joined_after || k + 1 == peaks.size()
              : !r.peaks[k].joined_before || k == 0)
        return false;
    auto const& beside = peaks[front ? k + 1 : k - 1];
    return p.flags.shoulder || std::abs(beside.height) > 1.5 * std::abs(p.height);
}

// At a known event, without a front or small, and much narrower than the peaks before and after:
// what the valve left.
bool left_by_valve(Survey const& s,
                   Regions const& r,
                   std::vector<Peak> const& peaks,
                   std::size_t k) {
    auto const& p = peaks[k];
    auto const& events = s.options.events;
    if (std::none_of(events.begin(), events.end(), [&](SignalEvent const& e) {
            return p.apex_s > e.at_s - 0.3 && p.apex_s < e.at_s + 0.8;
        }))
        return false;
    // A tail that a valve parted from its peak has no front.
    if (r.peaks[k].joined_before && !p.flags.cut && p.apex_s - p.start_s < 0.15 * p.width_half_s)
        return true;
    double least = INFINITY, height = INFINITY;
    auto const look = [&](std::ptrdiff_t step) {
        for (auto j = static_cast<std::ptrdiff_t>(k) + step;
             j >= 0 && j < static_cast<std::ptrdiff_t>(peaks.size());
             j += step) {
            auto const& other = peaks[static_cast<std::size_t>(j)];
            if (std::abs(other.height) < 20 * r.rms || other.flags.shoulder) continue;
            least = std::min(least, other.width_half_s);
            height = std::min(height, std::abs(other.height));
            return;
        }
    };
    look(-1), look(1);
    // Common practice, no source; a peak as tall as the others is believed whatever its width.
    return std::isfinite(least) && p.width_half_s < 0.4 * least &&
           std::abs(p.height) < 0.1 * height;
}

// What was seen in the curvature of a cluster and has nothing left once its neighbours have theirs
// goes to the neighbour it meets.
bool drop_ghosts(Survey const& s, Regions& r, std::vector<Peak> const& peaks) {
    bool dropped = false;
    for (std::size_t k = peaks.size(); k-- > 0;) {
        bool const met = r.peaks[k].joined_before || r.peaks[k].joined_after;
        bool const front_edge = edge_of_cut(r, peaks, k, true),
                   edge = front_edge || edge_of_cut(r, peaks, k, false);
        // Nor is one whose shape, without its neighbours', has its top elsewhere.
        auto const& p = peaks[k];
        double const away = std::max(p.start_s - p.apex_s, p.apex_s - p.end_s);
        bool const ghost =
            met && (r.peaks[k].sign * p.height <= 3 * r.rms || away > 0.25 * p.width_half_s);
        if (!edge && !ghost && !left_by_valve(s, r, peaks, k)) continue;
        auto const gone = r.peaks[k];
        if (!front_edge && gone.joined_before && k > 0) {
            r.peaks[k - 1].last = gone.last;
            r.peaks[k - 1].joined_after = gone.joined_after;
        } else if (gone.joined_after && k + 1 < r.peaks.size()) {
            r.peaks[k + 1].first = gone.first;
            r.peaks[k + 1].joined_before = gone.joined_before;
        }
        r.peaks.erase(r.peaks.begin() + static_cast<std::ptrdiff_t>(k));
        dropped = true;
    }
    return dropped;
}

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

DetectorPeaks peaks_of(Trace const& trace,
                       std::vector<float> const& raw,
                       int detector,
                       PeakOptions const& options,
                       Settled* settled = nullptr) {
    DetectorPeaks out;
    std::vector<double> y(raw.begin(), raw.end());
    double const dt = trace.interval_s;
    auto const [low, high] = std::minmax_element(y.begin(), y.end());
    // No converter and no printed table resolves a millionth of the range: ripple below it is no
    // peak.
    double const floor = 1e-6 * (*high - *low);
    auto const noise = fast_noise(y);
    double const fast = std::max(noise.sd, floor), grain = noise.grain;
    if (!(fast > 0)) {  // a constant signal
        out.baseline.assign(raw.begin(), raw.end());
        return out;
    }
    std::vector<Disturbance> disturbances;
    std::vector<std::size_t> suspects;
    Regions regions;
    for (int round = 0; round < 3; ++round) {
        y.assign(raw.begin(), raw.end());
        disturbances = remove_disturbances(
            y, trace.start_s, dt, fast, options.events, options.narrowest_half_width_s, suspects);
        regions =
            settle_regions({y, trace.start_s, dt, fast, grain, disturbances, trace.gaps, options});
        auto const more = kicks_among_peaks(
            {y, trace.start_s, dt, fast, grain, disturbances, trace.gaps, options}, regions);
        if (more.empty()) break;
        suspects.insert(suspects.end(), more.begin(), more.end());
    }
    {
        Survey const so_far{y, trace.start_s, dt, fast, grain, disturbances, trace.gaps, options};
        if (take_steps_under_peaks(so_far, regions, y, disturbances))
            regions = settle_regions(
                {y, trace.start_s, dt, fast, grain, disturbances, trace.gaps, options});
    }
    {
        // A step taken for nothing is not missed by a background that lies without it.
        auto less = y;
        auto others = disturbances;
        Survey const without{less, trace.start_s, dt, fast, grain, others, trace.gaps, options};
        if (settle_steps(without, regions, less, others))
            if (auto again = settle_regions(without);
                again.ground.stiffness_s >= regions.ground.stiffness_s &&
                again.slow_scatter < 1.1 * regions.slow_scatter + 0.1)
                y = std::move(less), disturbances = std::move(others), regions = std::move(again);
    }
    for (int round = 0; round < 2; ++round) {
        Survey const so_far{y, trace.start_s, dt, fast, grain, disturbances, trace.gaps, options};
        if (!settle_kicks_under_peaks(so_far, regions, y, disturbances)) break;
        regions =
            settle_regions({y, trace.start_s, dt, fast, grain, disturbances, trace.gaps, options});
    }
    for (auto const& d : disturbances)
        out.kicks.push_back({d.at_s, d.known ? "valve event" : "disturbance"});
    Survey const survey{y, trace.start_s, dt, fast, grain, disturbances, trace.gaps, options};
    settle_ground(survey, regions);
    add_hidden_peaks(survey, regions, raw);
    std::vector<SharedShape> shapes;
    out.peaks = measured_peaks(survey, regions, raw, detector, &shapes);
    if (drop_ghosts(survey, regions, out.peaks))
        out.peaks = measured_peaks(survey, regions, raw, detector, &shapes);
    for (auto const& d : disturbances) {
        // What the background still put on top is a part of the step.
        double left = 0, u = d.step_u;
        for (auto const& step : regions.ground.steps)
            if (d.step != 0 && std::abs(survey.time(step.at) - d.at_s) < 1.5 * dt)
                left = step.value, u = regions.rms * std::sqrt(regions.slow_scatter) * step.u;
        out.steps.push_back({d.at_s, d.step + left, u, d.height, d.known, detector});
    }
    out.noise = {regions.rms, slope(regions.ground.level, dt)};
    out.baseline = with_steps(regions.ground.level, survey);
    if (settled != nullptr)
        *settled = {fast, grain, std::move(disturbances), std::move(regions), std::move(shapes)};
    return out;
}

// Dips are found by stricter rules than peaks. Where they are most of what a detector shows it is
// the other way about: the detector is connected with its signs reversed.
bool upside_down(std::vector<Peak> const& peaks) {
    double up = 0, down = 0;
    for (auto const& p : peaks) (p.flags.negative ? down : up) += std::abs(p.area);
    return down > 2 * up;
}

// The signal is mostly at its upper end.
bool hangs(std::vector<float> raw) {
    auto const [low, high] = std::minmax_element(raw.begin(), raw.end());
    float const least = *low, most = *high;
    auto const middle = raw.begin() + static_cast<std::ptrdiff_t>(raw.size() / 2);
    std::nth_element(raw.begin(), middle, raw.end());
    return *middle - least > 3 * (most - *middle);
}

double whole_area(std::vector<Peak> const& peaks) {
    return std::accumulate(peaks.begin(), peaks.end(), 0.0, [](double sum, Peak const& p) {
        return sum + std::abs(p.area);
    });
}

DetectorPeaks upright(Trace const& trace,
                      std::vector<float> raw,
                      int detector,
                      PeakOptions const& options) {
    for (float& v : raw) v = -v;
    auto turned = options;
    turned.range_low = options.range_high, turned.range_high = options.range_low;
    for (auto* limit : {&turned.range_low, &turned.range_high})
        if (*limit) **limit = -**limit;
    auto out = peaks_of(trace, raw, detector, turned);
    for (auto& p : out.peaks) {
        p.area = -p.area, p.height = -p.height;
        p.flags.negative = !p.flags.negative;
    }
    for (float& v : out.baseline) v = -v;
    for (auto& s : out.steps) s.step = -s.step, s.height = -s.height;
    out.noise.drift_per_s = -out.noise.drift_per_s;
    return out;
}

}  // namespace

DetectorPeaks find_peaks(Trace const& trace, int detector, PeakOptions const& options) {
    return find_peaks(trace, detector, options, nullptr);
}

DetectorPeaks find_peaks(Trace const& trace,
                         int detector,
                         PeakOptions const& options,
                         Settled* settled) {
    if (detector < 1 || static_cast<std::size_t>(detector) > trace.signals.size() ||
        trace.samples() < 16)
        return {};
    auto const& raw = trace.signals[static_cast<std::size_t>(detector - 1)];
    auto out = peaks_of(trace, raw, detector, options, settled);
    if (bool const sure = upside_down(out.peaks); sure || hangs(raw)) {
        auto turned = upright(trace, raw, detector, options);
        // Dips taken for background leave broad hills between them, and hills that hold less than
        // nothing.
        bool const hollow = std::any_of(out.peaks.begin(), out.peaks.end(), [](Peak const& p) {
            return p.area * p.height < 0;
        });
        if (upside_down(turned.peaks) &&
            (sure || hollow || whole_area(turned.peaks) < whole_area(out.peaks)))
            out = std::move(turned);
        if (settled != nullptr) *settled = {};
    }
    out.warnings = trace.warnings;
    return out;
}

}  // namespace gw::trace
