// What a followed run's peaks are, once each has its place.
#include <algorithm>
#include <cmath>
#include <numeric>

#include "trace/followed_run.hpp"
#include "trace/shared_area.hpp"

namespace gw::trace {

// What a form leaves in doubt comes from the neighbours too.
double FollowedRun::most_amount(std::size_t peak) const {
    auto const& group = plan_.groups[plan_.peaks[peak].group];
    double most = 0;
    for (std::size_t k = group.first_peak; k < group.last_peak; ++k)
        most = std::max(most, work_.fits[k].amount);
    return most;
}

// Of what the blocks [first, last) are above the background.
double FollowedRun::block_total(std::size_t first, std::size_t last) const {
    double even = 0, odd = 0;
    std::size_t b = first;
    for (; b + 2 <= last; b += 2)
        even += static_cast<double>(above_[b]), odd += static_cast<double>(above_[b + 1]);
    if (b < last) even += static_cast<double>(above_[b]);
    return even + odd;
}

// Of samples [first, last), less than a block.
double FollowedRun::sample_total(std::size_t first, std::size_t last) const {
    double sum = 0;
    for (std::size_t i = first; i < last; ++i) sum += static_cast<double>(y_[i] - plan_.from);
    auto const count = static_cast<double>(last - first);
    return sum - count * level_at(level_, static_cast<double>(first) + 0.5 * (count - 1));
}

double FollowedRun::sum_above(std::size_t first, std::size_t last) const {
    std::size_t const from = (first + plan_block - 1) / plan_block, to = last / plan_block;
    if (from >= to) return first < last ? sample_total(first, last) : 0;
    return sample_total(first, from * plan_block) + block_total(from, to) +
           sample_total(to * plan_block, last);
}

// What the shapes of its group carry across the borders of a peak, which are samples of this run.
double FollowedRun::carried_across(std::size_t k, std::size_t first, std::size_t last) const {
    auto const& p = plan_.peaks[k];
    double const dt = plan_.interval_s;
    if (auto const& anew = work_.anew[p.group]) {
        auto const time = [&](std::size_t i) {
            return plan_.start_s + (static_cast<double>(i) - 0.5) * dt;
        };
        return carried(*anew->fit, k - plan_.groups[p.group].first_peak, time(first), time(last))
            .area;
    }
    if (p.spills.empty()) return 0;
    // The borders move by whole samples, the shapes by parts of one: what that carries across them
    // is their height there.
    auto const& fit = work_.fits[k];
    double const left = static_cast<double>(first) - static_cast<double>(p.first),
                 right = static_cast<double>(last) - static_cast<double>(p.last);
    double area = fit.amount *
                  (p.beyond + dt * (p.left * (left - fit.shift) - p.right * (right - fit.shift)));
    for (auto const& spill : p.spills) {
        auto const& of = work_.fits[spill.of];
        area -=
            of.amount *
            (spill.area + dt * (spill.right * (right - of.shift) - spill.left * (left - of.shift)));
    }
    return area;
}

// border: of the peak before, then of this one.
void FollowedRun::measure_peak(std::size_t k,
                               std::size_t& border,
                               double slow,
                               DetectorPeaks& out) const {
    auto const& p = plan_.peaks[k];
    auto const& fit = work_.fits[k];
    double const dt = plan_.interval_s;
    auto const& anew = work_.anew[p.group];
    auto const* region = anew && !anew->regions.empty()
                             ? &anew->regions[k - plan_.groups[p.group].first_peak]
                             : nullptr;
    std::size_t first = p.joined_before && k > 0 ? border : moved(p.first, fit.shift);
    std::size_t last = p.joined_after && k + 1 < work_.fits.size()
                           ? moved(p.last, 0.5 * (fit.shift + work_.fits[k + 1].shift))
                           : moved(p.last, fit.shift);
    if (region != nullptr) first = anew->origin + region->first, last = anew->origin + region->last;
    border = last;
    auto& peak = out.peaks.emplace_back(p.peak);
    double const moved_area = carried_across(k, first, last);
    peak.area = sum_above(first, last) * dt + moved_area;
    peak.flags.fitted = std::abs(moved_area) > 1e-4 * std::abs(peak.area);
    peak.area_u = std::hypot(p.u_noise * scale_ * slow, p.u_shape * most_amount(k));
    peak.start_s += dt * (static_cast<double>(first) - static_cast<double>(p.first));
    peak.end_s += dt * (static_cast<double>(last) - static_cast<double>(p.last));
    if (region != nullptr) {
        auto const& shape = region->shape;
        peak.apex_s = shape.apex_s, peak.height = shape.height;
        peak.width_half_s = shape.width_half_s;
        peak.asymmetry = shape.asymmetry, peak.tailing = shape.tailing;
        return;
    }
    peak.apex_s += dt * fit.shift;
    peak.height *= fit.amount / (anew ? 1 + fit.stretch : 1);
    peak.width_half_s *= 1 + fit.stretch;
}

void FollowedRun::measure(DetectorPeaks& out) const {
    // Slower noise than the plan's makes every area less sure; of less there is no proof.
    double const slow = std::sqrt(std::max(1.0, slow_ / ground_->slow));
    std::size_t border = 0;
    out.peaks.reserve(plan_.peaks.size());
    for (std::size_t k = 0; k < plan_.peaks.size(); ++k) measure_peak(k, border, slow, out);
    for (auto& peak : out.peaks) peak.flags.merged = false;
    for (std::size_t k = 0; k + 1 < out.peaks.size(); ++k) {
        auto &a = out.peaks[k], &b = out.peaks[k + 1];
        a.resolution_next = 1.18 * (b.apex_s - a.apex_s) / (a.width_half_s + b.width_half_s);
        if (*a.resolution_next < 1.0 && plan_.peaks[k].joined_after)
            a.flags.merged = b.flags.merged = true;
    }
    out.noise = {rms_, plan_.noise.drift_per_s};
    out.kicks = plan_.kicks, out.steps = plan_.steps;
    auto const& steps = work_.ground.steps;
    for (std::size_t k = 0; k < plan_.fitted_steps.size(); ++k)
        out.steps[plan_.fitted_steps[k]].step = steps[k];
    if (level_.size() > 1)
        out.noise.drift_per_s =
            (level_.back() - level_.front() - std::accumulate(steps.begin(), steps.end(), 0.0)) /
            (static_cast<double>((level_.size() - 1) * plan_block) * plan_.interval_s);
}

}  // namespace gw::trace
