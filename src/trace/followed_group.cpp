#include "trace/followed_group.hpp"

#include <numeric>

#include "trace/clusters.hpp"
#include "trace/hidden_peaks.hpp"
#include "trace/peak_flags.hpp"
#include "trace/peak_regions.hpp"
#include "trace/suspects.hpp"

namespace gw::trace {

double centre_of(Emg const& shape) { return shape.mu + shape.tau; }
double width_of(Emg const& shape) { return std::hypot(shape.sigma, shape.tau); }

namespace {

bool same_peak(Emg const& was, Emg const& is) {
    return is.area > 0.05 * was.area && is.area < 20 * was.area &&
           std::abs(centre_of(is) - centre_of(was)) < width_of(was) &&
           std::abs(std::log(width_of(is) / width_of(was))) < 0.15;
}

}  // namespace

ClusterFit fit_group(std::vector<Emg> const& start, GroupSignal const& s) {
    ClusterFitOptions options;
    options.one_column = true;
    Survey const survey{s.above, s.start_s, s.interval_s, s.fast, s.grain, {}, {}, s.options};
    options.ignored = disturbed_samples(survey, 0, s.above.size());
    return fit_cluster(s.above, s.start_s, s.interval_s, std::max(s.rms, s.fast), start, options);
}

std::optional<ClusterFit> fit_again(PlannedGroup const& planned,
                                    GroupSignal const& s,
                                    double shift_s) {
    if (planned.shapes.empty()) return std::nullopt;
    double const sum = std::accumulate(s.above.begin(), s.above.end(), 0.0) * s.interval_s;
    double const more = sum / planned.area;
    if (!(more > 0.05 && more < 20)) return std::nullopt;
    auto start = planned.shapes;
    for (auto& shape : start) shape.area *= more, shape.mu += shift_s;
    auto fit = fit_group(start, s);
    if (!fit.converged || !(fit.freedom() > 0)) return std::nullopt;
    bool const shared = fit.peaks.size() > 1;
    for (std::size_t k = 0; k < fit.peaks.size(); ++k)
        if (!same_peak(start[k], fit.peaks[k]) || (shared && !(fit.departure[k] < 0.06)) ||
            (k > 0 && centre_of(fit.peaks[k]) <= centre_of(fit.peaks[k - 1])))
            return std::nullopt;
    return fit;
}

bool as_well(PlannedGroup const& planned, ClusterFit const& fit) {
    double area = 0;
    for (auto const& shape : fit.peaks) area += shape.area;
    double const more = std::max(1.0, area / planned.area);
    // What the form of the shapes leaves over grows with the peaks; what noise leaves over
    // scatters.
    return fit.excess() <
           1.3 * more * more * std::max(0.0, planned.excess) + 5 * std::sqrt(2 * fit.freedom());
}

std::optional<Regions> search_again(PlannedGroup const& planned, GroupSignal const& s) {
    std::vector<double> y(s.above.begin(), s.above.end());
    // At known events nothing showed in the planned run; only what comes at once is looked for.
    if (!remove_disturbances(
             y, s.start_s, s.interval_s, s.fast, {}, s.options.narrowest_half_width_s)
             .empty())
        return std::nullopt;
    auto options = s.options;
    options.widest_half_width_s = std::min(options.widest_half_width_s, 2 * planned.widest_s);
    Survey const survey{y, s.start_s, s.interval_s, s.fast, s.grain, {}, {}, options};
    Regions r;
    r.above = y, r.rms = s.rms;
    settle_peaks(survey, r);
    if (r.peaks.size() != planned.last_peak - planned.first_peak) return std::nullopt;
    for (auto const& p : r.peaks)
        if (p.sign < 0 || p.shoulder || p.candidate.at_end || is_saturated(survey, s.raw, p))
            return std::nullopt;
    if (r.peaks.front().first == 0 || r.peaks.back().last >= y.size()) return std::nullopt;
    if (!kicks_among_peaks(survey, r).empty()) return std::nullopt;
    return r;
}

bool hides_a_peak(Regions r, GroupSignal const& s) {
    Survey const survey{r.above, s.start_s, s.interval_s, s.fast, s.grain, {}, {}, s.options};
    return add_hidden_peaks(survey, r, s.raw);
}

}  // namespace gw::trace
