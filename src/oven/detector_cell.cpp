#include "oven/detector_cell.hpp"

#include <algorithm>
#include <cmath>

#include "trace/synthesis.hpp"

namespace gw::oven {

namespace {

constexpr double longest_fine_step_s = 0.02;  // peaks are half a second wide and more
constexpr double steps_a_cell = 5;

// The first-order lag driven by bins in each of which the flow is even: exact at the bins' edges.
std::vector<double> lagged(std::vector<double> const& amount,
                           std::size_t samples,
                           std::size_t fine,
                           double step_s,
                           double tau_s) {
    std::vector<double> out(samples);
    if (tau_s < step_s) {
        // Too quick to be stepped: the flow a lag ago, between the middles of the bins.
        auto const flow = [&](double t) {
            double const x = t / step_s - 0.5;
            double const k = std::floor(x), u = x - k;
            auto const bin = [&](double j) {
                return j < 0 || j >= static_cast<double>(amount.size())
                           ? 0.0
                           : amount[static_cast<std::size_t>(j)];
            };
            return ((1 - u) * bin(k) + u * bin(k + 1)) / step_s;
        };
        for (std::size_t i = 0; i < samples; ++i)
            out[i] = flow(static_cast<double>(i * fine) * step_s - tau_s);
        return out;
    }
    double const keep = std::exp(-step_s / tau_s), take = -std::expm1(-step_s / tau_s) / step_s;
    double y = 0;
    for (std::size_t i = 0, k = 0; i < samples; ++i) {
        out[i] = y;
        for (std::size_t f = 0; f < fine; ++f, ++k) y = keep * y + take * amount[k];
    }
    return out;
}

}  // namespace

Collector::Collector(Oven const& oven) {
    for (auto const& d : oven.detectors) lag_s_.push_back(d.cell_tau_s);
    // Samples at i/rate for 0 <= t < cycle.
    samples_ = static_cast<std::size_t>(std::ceil(oven.cycle_s * oven.rate_hz - 1e-9));
    double finest = longest_fine_step_s;
    for (auto const& d : oven.detectors)
        if (d.cell_tau_s > 0)
            finest = std::min(finest, std::max(d.cell_tau_s / steps_a_cell, 2e-3));
    double const interval = 1 / oven.rate_hz;
    fine_ = static_cast<std::size_t>(std::max(1.0, std::ceil(interval / finest - 1e-9)));
    step_s_ = interval / static_cast<double>(fine_);
}

void Collector::add(gas::Component reported_as,
                    std::size_t detector,
                    Curve const& curve,
                    double per_share) {
    if (curve.nothing() || per_share == 0) return;
    auto at = std::find_if(bins_.begin(), bins_.end(), [&](Bins const& b) {
        return b.reported_as == reported_as && b.detector == detector;
    });
    if (at == bins_.end()) {
        bins_.push_back({reported_as, detector, std::vector<double>(samples_ * fine_), 0});
        at = bins_.end() - 1;
    }
    double const last = static_cast<double>(at->amount.size());
    auto const index = [&](double x) { return static_cast<std::size_t>(std::clamp(x, 0.0, last)); };
    std::size_t const from = index(std::floor(curve.from / step_s_)),
                      to = index(std::ceil(curve.until / step_s_));
    double previous = 0;
    if (static_cast<double>(from) * step_s_ > curve.begin)
        previous = curve.passed(static_cast<double>(from) * step_s_);
    double const before = previous;
    for (std::size_t i = from; i < to; ++i) {
        double const t = static_cast<double>(i + 1) * step_s_;
        double const now = t >= curve.end ? curve.total : curve.passed(t);
        at->amount[i] += per_share * (now - previous);
        previous = now;
    }
    at->area += per_share * (previous - before);
}

std::vector<PeakSignal> Collector::signals() const {
    std::vector<PeakSignal> out;
    for (auto const& b : bins_)
        out.push_back({b.reported_as,
                       b.detector,
                       lagged(b.amount, samples_, fine_, step_s_, lag_s_[b.detector]),
                       b.area});
    return out;
}

trace::Trace as_trace(Oven const& oven, Simulated const& run, NoiseOptions const& noise) {
    std::vector<trace::SyntheticDetector> disturbed(oven.detectors.size());
    if (noise.white > 0)
        for (std::size_t d = 0; d < disturbed.size(); ++d) {
            disturbed[d].white_noise = noise.white;
            disturbed[d].flicker_noise = oven.detectors[d].flicker;
            disturbed[d].drift_per_s = oven.detectors[d].drift_per_s;
            if (oven.detectors[d].kick != 0)
                for (auto const& event : oven.programme)
                    disturbed[d].kicks.push_back({.at_s = event.at_s,
                                                  .height = oven.detectors[d].kick,
                                                  .decay_s = oven.detectors[d].kick_decay_s});
        }
    trace::SynthesisOptions grid;
    grid.interval_s = run.interval_s;
    grid.duration_s = static_cast<double>(run.samples) * run.interval_s;
    grid.seed = noise.seed;
    auto trace = trace::synthesise(disturbed, grid);
    trace.source = "twin";
    trace.unit = oven.detectors.front().unit;
    for (std::size_t d = 0; d < oven.detectors.size(); ++d) {
        auto const& detector = oven.detectors[d];
        auto const total = run.total(d);
        for (std::size_t i = 0; i < run.samples; ++i) {
            double y = total[i];
            if (detector.saturation > 0) y /= 1 + std::abs(y) / detector.saturation;
            y = std::clamp(y + trace.signals[d][i], detector.low, detector.high);
            trace.signals[d][i] = static_cast<float>(y);
        }
    }
    return trace;
}

}  // namespace gw::oven
