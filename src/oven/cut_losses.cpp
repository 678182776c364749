#include "oven/cut_losses.hpp"

#include <algorithm>
#include <cmath>

namespace gw::oven {

namespace {

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
        if (std::any_of(out.begin(), out.end(), [&](auto const& p) { return p.reported_as == peak; }))
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
        std::size_t from = 0;
        for (std::size_t i = 0; i < order.size(); ++i) {
            auto& share = out[order[i]];
            std::size_t to = run.samples;
            if (i + 1 < order.size()) {
                auto const a = static_cast<std::size_t>(share.apex_s / run.interval_s),
                           b = static_cast<std::size_t>(out[order[i + 1]].apex_s / run.interval_s);
                to = static_cast<std::size_t>(
                    std::min_element(total.begin() + static_cast<std::ptrdiff_t>(a),
                                     total.begin() + static_cast<std::ptrdiff_t>(std::max(a + 1, b))) -
                    total.begin());
            }
            double own = 0, all = 0;
            auto const& signal = run.peaks[signal_of[order[i]]].signal;
            for (std::size_t k = from; k < to; ++k) {
                own += signal[k];
                all += total[k];
            }
            share.kept = own * run.interval_s;
            share.gained = (all - own) * run.interval_s;
            share.from_s = static_cast<double>(from) * run.interval_s;
            share.to_s = static_cast<double>(to) * run.interval_s;
            from = to;
        }
    }
    return out;
}

}  // namespace gw::oven
