#include "trace/cut_loss.hpp"

#include "trace/cluster_fit.hpp"

namespace gw::trace {

namespace {

// Of the lost part, what is in doubt because peaks are not exactly modified Gaussians, and how much
// more the larger a share of the whole is lost: the less is left, the less tells the form (common
// practice, no source).
constexpr double form_doubt = 0.1, form_doubt_of_share = 0.2;

// Lost area of a fitted peak, unit x s, and how it follows area, mu, sigma and tau.
double lost_of(Emg const& p, CutPlace const& place) {
    double const before = area_before(p, place.at_s);
    return place.front ? before : p.area - before;
}

std::array<double, 4> lost_by(Emg const& p, CutPlace const& place) {
    auto const by = [&](double Emg::*member, double step) {
        Emg low = p, high = p;
        low.*member -= step, high.*member += step;
        return (lost_of(high, place) - lost_of(low, place)) / (2 * step);
    };
    return {lost_of(p, place) / p.area,
            by(&Emg::mu, 1e-4 * p.sigma),
            by(&Emg::sigma, 1e-4 * p.sigma),
            by(&Emg::tau, 1e-3 * p.tau)};
}

// An edge at the event within `lag` samples, against the change in as many before or after it.
std::optional<CutPlace> edge_at(
    Survey const& s, Regions const& r, Region const& p, double event_s, std::size_t lag) {
    double const height = std::abs(p.shape.height);
    std::size_t const n = s.y.size(), at = s.index(event_s);
    if (at < 2 * lag + 1 || at + 3 * lag >= n) return std::nullopt;
    if (at >= p.first + 2 * lag && at < p.last + lag)
        for (std::size_t i = at; i <= at + lag; ++i) {
            double const fall = p.sign * (r.above[i - 1] - r.above[std::min(i + lag, n - 1)]);
            // Twice as far back too: across a top the signal ends where it began.
            double const usual =
                std::max(std::abs(r.above[i - 1 - lag] - r.above[i - 1]),
                         std::abs(r.above[i - 1 - 2 * lag] - r.above[i - 1 - lag]));
            if (fall > 0.08 * height + 6 * r.rms && fall > 3 * usual + 4 * r.rms)
                return CutPlace{false, at, event_s};
        }
    if (at + lag >= p.first && at < p.top) {
        double const rise = p.sign * (r.above[at + lag] - r.above[at - 1]);
        double const usual = std::abs(r.above[at + 2 * lag] - r.above[at + lag]),
                     stood = std::abs(r.above[at - 1]);
        if (rise > 0.08 * height + 6 * r.rms && rise > 2.5 * usual + 4 * r.rms &&
            stood < 0.25 * rise)
            return CutPlace{true, at + 2 * lag, event_s};
    }
    return std::nullopt;
}

}  // namespace

std::optional<CutPlace> cut_of(Survey const& s, Regions const& r, Region const& p) {
    double const height = std::abs(p.shape.height);
    std::size_t const n = s.y.size();
    if (p.first == 0 && std::abs(r.above[0]) > 0.03 * height + 4 * r.rms)
        return CutPlace{true, 0, s.time(0)};
    if (p.last >= n && std::abs(r.above.back()) > 0.03 * height + 4 * r.rms)
        return CutPlace{false, n, s.time(n - 1)};
    for (auto const& event : s.options.events)
        // A detector's cell rounds the edge: it is looked for over more and more time, but never so
        // much that the peak's own flank passes for one.
        for (double const rounded_s : {0.12, 0.25, 0.45}) {
            if (rounded_s > 0.12 && rounded_s > 0.15 * p.shape.width_half_s) break;
            auto const lag = std::max<std::size_t>(2, static_cast<std::size_t>(rounded_s / s.dt));
            if (auto const place = edge_at(s, r, p, event.at_s, lag)) return place;
        }
    // A rounded edge low on a flank is told by what lies on its other side, nothing, and by the
    // signal changing twice as much within it as in the flank beside it.
    auto const lag = std::max<std::size_t>(2, static_cast<std::size_t>(0.3 / s.dt));
    for (auto const& event : s.options.events) {
        std::size_t const at = s.index(event.at_s);
        bool const before =
            at + lag >= p.first && at<p.top, after = at> p.top && at <= p.last + lag;
        if (p.sign < 0 || (!before && !after) || at < lag || at + 2 * lag >= n) continue;
        if (0.3 > 0.15 * p.shape.width_half_s) continue;  // its own flank may fall as fast
        double const within = std::abs(r.above[at + lag] - r.above[at]),
                     beside = before ? std::abs(r.above[at + 2 * lag] - r.above[at + lag])
                                     : std::abs(r.above[at] - r.above[at - lag]);
        if (within < 2 * beside + 4 * r.rms) continue;
        auto const side = breaks_off(s.y, at, s.dt, std::max(r.rms, s.fast));
        if (before && side == BreaksOff::front) return CutPlace{true, at + 2 * lag, event.at_s};
        if (after && side == BreaksOff::back) return CutPlace{false, at, event.at_s};
    }
    return std::nullopt;
}

Cut cut_loss(
    Survey const& s, Regions const& r, Region const& p, CutPlace const& place, double seen) {
    Cut out;
    out.front = place.front, out.at_s = place.at_s;
    if (p.sign < 0) return out;
    std::size_t const first = place.front ? std::max(place.sample, p.first) : p.first,
                      last = place.front ? p.last : std::min(place.sample, p.last);
    if (last < first + 12) return out;
    // The flank that is left tells the width.
    double const half =
        place.front ? p.shape.width_half_s - p.shape.front_half_s : p.shape.front_half_s;
    double const sigma =
        std::max(half > 0 ? half / 1.1774 : p.candidate.scale_s, 0.5 * s.dt);  // sqrt(2 ln 2)
    ClusterFitOptions options;
    options.responses = true;
    std::vector<double> left(r.above.begin() + static_cast<std::ptrdiff_t>(first),
                             r.above.begin() + static_cast<std::ptrdiff_t>(last));
    double const noise = std::max(r.rms, s.fast);
    auto const fit =
        fit_cluster(left,
                    s.time(first),
                    s.dt,
                    noise,
                    {{p.shape.height * sigma * 2.6, p.shape.apex_s, sigma, 0.3 * sigma}},
                    options);
    if (!fit.converged || fit.response.empty() || fit.departure[0] > 0.06) return out;
    auto const& shape = fit.peaks[0];
    double const lost = lost_of(shape, place), whole = seen + lost;
    if (!(lost >= 0) || !(whole > 0)) return out;
    auto const by = lost_by(shape, place);
    double squares = 0;
    for (std::size_t i = 0; i < fit.response[0].size(); ++i) {
        double sum = 0;
        for (std::size_t k = 0; k < 4; ++k) sum += by[k] * fit.response[k][i];
        squares += sum * sum;
    }
    // The fit's own misfit says when noise is not all that keeps it from the signal.
    double const u_fit = noise * std::sqrt(squares / static_cast<double>(fit.block)) *
                         std::sqrt(std::max(1.0, fit.misfit));
    double const u = std::hypot(u_fit, (form_doubt + form_doubt_of_share * lost / whole) * lost);
    if (!(u < 0.25 * whole)) return out;
    out.lost_percent = 100 * lost / whole;
    // d(lost / (seen + lost)) = seen / whole^2 d lost.
    out.u_percent = 100 * u * seen / (whole * whole);
    return out;
}

}  // namespace gw::trace
