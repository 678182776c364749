#include "trace/followed_group.hpp"

#include <numeric>

#include "trace/clusters.hpp"
#include "trace/peak_regions.hpp"

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

std::optional<ClusterFit> fit_again(PlannedGroup const& planned,
                                    GroupSignal const& s,
                                    double shift_s) {
    double const sum = std::accumulate(s.above.begin(), s.above.end(), 0.0) * s.interval_s;
    double const more = sum / planned.area;
    if (!(more > 0.05 && more < 20)) return std::nullopt;
    auto start = planned.shapes;
    for (auto& shape : start) shape.area *= more, shape.mu += shift_s;
    ClusterFitOptions options;
    options.one_column = true;
    Survey const survey{s.above, s.start_s, s.interval_s, s.fast, s.grain, {}, {}, s.options};
    options.ignored = disturbed_samples(survey, 0, s.above.size());
    auto fit =
        fit_cluster(s.above, s.start_s, s.interval_s, std::max(s.rms, s.fast), start, options);
    if (!fit.converged || !(fit.freedom() > 0)) return std::nullopt;
    // What the form of the shapes leaves over grows with the peaks; what noise leaves over
    // scatters.
    double const scatter = std::sqrt(2 * fit.freedom());
    if (fit.excess() >
        1.3 * std::max(1.0, more * more) * std::max(0.0, planned.excess) + 5 * scatter)
        return std::nullopt;
    bool const shared = fit.peaks.size() > 1;
    for (std::size_t k = 0; k < fit.peaks.size(); ++k)
        if (!same_peak(start[k], fit.peaks[k]) || (shared && !(fit.departure[k] < 0.06)) ||
            (k > 0 && centre_of(fit.peaks[k]) <= centre_of(fit.peaks[k - 1])))
            return std::nullopt;
    return fit;
}

std::optional<std::vector<Region>> search_again(PlannedGroup const& planned, GroupSignal const& s) {
    std::vector<double> y(s.above.begin(), s.above.end());
    if (!remove_disturbances(
             y, s.start_s, s.interval_s, s.fast, s.options.events, s.options.narrowest_half_width_s)
             .empty())
        return std::nullopt;
    auto options = s.options;
    options.widest_half_width_s = std::min(options.widest_half_width_s, 2 * planned.widest_s);
    Survey const survey{y, s.start_s, s.interval_s, s.fast, s.grain, {}, {}, options};
    Regions r;
    r.above = y, r.rms = s.rms;
    settle_peaks(survey, r);
    if (r.peaks.size() != planned.last_peak - planned.first_peak) return std::nullopt;
    for (std::size_t k = 0; k < r.peaks.size(); ++k) {
        auto const& p = r.peaks[k];
        bool const inner = k + 1 < r.peaks.size();
        if (p.sign < 0 || p.shoulder || p.candidate.at_end || p.joined_before != (k > 0) ||
            p.joined_after != inner)
            return std::nullopt;
    }
    if (r.peaks.front().first == 0 || r.peaks.back().last >= y.size()) return std::nullopt;
    return r.peaks;
}

}  // namespace gw::trace
