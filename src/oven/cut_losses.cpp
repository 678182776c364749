#include "oven/cut_losses.hpp"

#include <algorithm>
#include <cmath>

namespace gw::oven {

namespace {

/// Where the signal is lowest between two samples, itself between samples by a parabola: an area
/// must not jump when an event moves by less than a sample.
double lowest(std::vector<double> const& y, std::size_t first, std::size_t end) {
    std::size_t k = first;
    for (std::size_t i = first; i < end; ++i)
        if (y[i] < y[k]) k = i;
    auto const x = static_cast<double>(k);
    if (k == 0 || k + 1 >= y.size()) return x;
    double const bend = y[k - 1] - 2 * y[k] + y[k + 1];
    return bend > 0 ? x + std::clamp(0.5 * (y[k - 1] - y[k + 1]) / bend, -0.5, 0.5) : x;
}

/// Sum of samples between two places, each sample standing for half an interval on either side.
double sum_between(std::vector<double> const& y, double from, double to) {
    double sum = 0;
    auto const first = static_cast<std::size_t>(std::floor(from + 0.5)),
               last = std::min(static_cast<std::size_t>(std::floor(to + 0.5)), y.size() - 1);
    for (std::size_t k = first; k <= last && k < y.size(); ++k) {
        double const left = std::max(static_cast<double>(k) - 0.5, from),
                     right = std::min(static_cast<double>(k) + 0.5, to);
        if (right > left) sum += y[k] * (right - left);
    }
    return sum;
}

/// Area of the whole amount of a peak at the detector of the chain that shows it.
double whole_area(Oven const& oven,
                  std::vector<double> const& amounts,
                  gas::Component peak,
                  std::size_t detector) {
    double sum = 0;
    for (std::size_t s = 0; s < oven.species.size(); ++s)
        if (oven.species[s].reported_as == peak)
            sum += amounts[s] * oven.detectors[detector].scale * oven.species[s].response;
    return std::abs(sum * oven.response_factor * oven.amount_factor);
}

}  // namespace

std::vector<PeakShare> peak_shares(Oven const& oven,
                                   std::vector<double> const& amounts,
                                   Simulated const& run) {
    // A component may reach two detectors: its peak is where most of it goes.
    std::vector<PeakShare> out;
    std::vector<std::size_t> signal_of;
    for (auto const& species : oven.species) {
        auto const peak = species.reported_as;
        if (std::any_of(
                out.begin(), out.end(), [&](auto const& p) { return p.reported_as == peak; }))
            continue;
        PeakShare share;
        share.reported_as = peak;
        for (std::size_t s = 0; s < oven.species.size(); ++s)
            if (oven.species[s].reported_as == peak) share.amount += amounts[s];
        if (!(share.amount > 0)) continue;
        std::size_t best = run.peaks.size();
        for (std::size_t p = 0; p < run.peaks.size(); ++p)
            if (run.peaks[p].reported_as == peak &&
                (best == run.peaks.size() ||
                 std::abs(run.peaks[p].area) > std::abs(run.peaks[best].area)))
                best = p;
        share.detector = best < run.peaks.size() ? run.peaks[best].detector : 0;
        share.whole = whole_area(oven, amounts, peak, share.detector);
        if (best < run.peaks.size())
            share.apex_s = apex(run.peaks[best].signal, run.interval_s).at_s;
        out.push_back(share);
        signal_of.push_back(best);
    }
    for (std::size_t d = 0; d < oven.detectors.size(); ++d) {
        auto const total = run.total(d);
        std::vector<std::size_t> order;
        for (std::size_t p = 0; p < out.size(); ++p)
            if (out[p].detector == d && signal_of[p] < run.peaks.size()) order.push_back(p);
        std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
            return out[a].apex_s < out[b].apex_s;
        });
        double from = 0;  // in samples
        for (std::size_t i = 0; i < order.size(); ++i) {
            auto& share = out[order[i]];
            auto to = static_cast<double>(run.samples);
            if (i + 1 < order.size()) {
                auto const a = static_cast<std::size_t>(share.apex_s / run.interval_s),
                           b = static_cast<std::size_t>(out[order[i + 1]].apex_s / run.interval_s);
                to = lowest(total, a, std::max(a + 1, b));
            }
            double const own = sum_between(run.peaks[signal_of[order[i]]].signal, from, to),
                         all = sum_between(total, from, to);
            share.kept = own * run.interval_s;
            share.gained = (all - own) * run.interval_s;
            share.from_s = from * run.interval_s;
            share.to_s = to * run.interval_s;
            from = to;
        }
    }
    return out;
}

}  // namespace gw::oven
