// Groups of peaks that are measured in a run without the shapes of the run before.
#include <algorithm>
#include <cmath>

#include "trace/followed_run.hpp"

namespace gw::trace {

// Where the nearest peak that took its old shape has moved to.
double FollowedRun::shift_of(std::size_t g) const {
    auto const taken = [&](std::size_t k) {
        return work_.fits[k].amount > 0 && !work_.anew[plan_.peaks[k].group];
    };
    auto const& group = plan_.groups[g];
    for (std::size_t off = 0; off < plan_.peaks.size(); ++off) {
        if (std::size_t const k = group.last_peak + off; k < plan_.peaks.size() && taken(k))
            return work_.fits[k].shift;
        if (group.first_peak > off && taken(group.first_peak - 1 - off))
            return work_.fits[group.first_peak - 1 - off].shift;
    }
    return 0;
}

std::size_t FollowedRun::moved(std::size_t sample, double shift) const {
    return static_cast<std::size_t>(std::clamp(
        static_cast<double>(sample) + std::round(shift), 0.0, static_cast<double>(y_.size())));
}

GroupSignal FollowedRun::signal_between(std::size_t from, std::size_t to) {
    auto& above = work_.above;
    above.clear();
    for (std::size_t i = from; i < to; ++i)
        above.push_back(static_cast<double>(y_[i] - plan_.from) -
                        level_at(level_, static_cast<double>(i)));
    return {above,
            y_.subspan(from, to - from),
            plan_.start_s + static_cast<double>(from) * plan_.interval_s,
            plan_.interval_s,
            fast_,
            rms_,
            plan_.grain,
            options_};
}

FollowedFit FollowedRun::as_fitted(std::size_t k, ClusterFit const& fit) const {
    auto const& group = plan_.groups[plan_.peaks[k].group];
    auto const &was = group.shapes[k - group.first_peak], &is = fit.peaks[k - group.first_peak];
    FollowedFit out;
    out.amount = is.area / was.area;
    out.shift = (centre_of(is) - centre_of(was)) / plan_.interval_s;
    out.stretch = width_of(is) / width_of(was) - 1;
    return out;
}

// shift: in samples, where the fit begins.
char const* FollowedRun::fitted_anew(std::size_t g, double shift) {
    auto const& group = plan_.groups[g];
    auto const signal = signal_between(moved(group.from, shift), moved(group.to, shift));
    auto fit = fit_again(group, signal, shift * plan_.interval_s);
    if (!fit) return "peaks of another form";
    for (std::size_t k = group.first_peak; k < group.last_peak; ++k)
        work_.fits[k] = as_fitted(k, *fit);
    if (!work_.anew[g]) work_.anew[g].emplace();
    work_.anew[g]->fit = std::move(fit);
    return still_peaks(group);
}

char const* FollowedRun::searched_anew(std::size_t g) {
    auto& group = plan_.groups[g];
    if (group.shapes.empty()) return "a peak of another shape";
    double const shift = shift_of(g);
    auto& anew = *work_.anew[g];
    anew.origin = moved(group.low, shift);
    auto const signal = signal_between(anew.origin, moved(group.high, shift));
    auto regions = search_again(group, signal);
    if (!regions) return "a peak of another shape";
    // Fitted from where the peaks are now.
    double const later =
        regions->peaks.front().shape.apex_s - plan_.peaks[group.first_peak].peak.apex_s;
    if (auto const* why = fitted_anew(g, later / plan_.interval_s)) return why;
    anew.regions = regions->peaks;
    if (as_well(group, *anew.fit)) return nullptr;
    if (hides_a_peak(*std::move(regions), signal)) return "a peak that hides among others";
    // No less well described is none that was looked through.
    double const more = std::max(1.0, most_amount(group.first_peak));
    group.excess = std::max(group.excess, anew.fit->excess() / (more * more));
    return nullptr;
}

char const* FollowedRun::still_peaks(PlannedGroup const& group) {
    for (std::size_t k = group.first_peak; k < group.last_peak; ++k) {
        auto const& p = plan_.peaks[k];
        auto const& fit = work_.fits[k];
        double const height = fit.amount * p.peak.height / (1 + fit.stretch);
        if (height < 6 * rms_) return "a peak hardly above the noise";
        if (std::abs(fit.shift) > most_shift * p.peak.width_half_s / plan_.interval_s)
            return "a peak that moved or widened";
        double const highest =
            height + level_at(level_, p.top + fit.shift) + static_cast<double>(plan_.from);
        if (options_.range_high && highest > 0.99 * *options_.range_high) return "clipping";
    }
    return nullptr;
}

}  // namespace gw::trace
