#include "trace/candidates.hpp"

#include <algorithm>
#include <cmath>

#include "base/wide.hpp"
#include "trace/curvature.hpp"
#include "trace/noise.hpp"

namespace gw::trace {

namespace {

double refined(std::vector<double> const& r,
               std::size_t i) {  // vertex of the parabola through three points
    if (i == 0 || i + 1 >= r.size()) return 0;
    double const curvature = r[i - 1] - 2 * r[i] + r[i + 1];
    return curvature == 0 ? 0 : std::clamp(0.5 * (r[i - 1] - r[i + 1]) / curvature, -0.5, 0.5);
}

// Scatter of the view away from what finer scales found, over that of white noise; `otherwise` when
// too little of the run is left to tell.
double quiet_excess(Curvature const& view,
                    std::vector<Candidate> const& known,
                    double white,
                    double otherwise) {
    std::vector<bool> busy(view.response.size(), false);
    for (auto const& c : known) {
        double const reach = 4 * std::hypot(c.scale_s, view.scale_s);
        auto const index = [&](double t) {
            return static_cast<std::size_t>(std::clamp(
                (t - view.start_s) / view.interval_s, 0.0, static_cast<double>(busy.size())));
        };
        std::fill(busy.begin() + static_cast<std::ptrdiff_t>(index(c.t - reach)),
                  busy.begin() + static_cast<std::ptrdiff_t>(index(c.t + 1.5 * reach)),
                  true);
    }
    std::vector<double> quiet;
    for (std::size_t i = 0; i < busy.size(); ++i)
        if (!busy[i]) quiet.push_back(view.response[i]);
    double const independent =
        static_cast<double>(quiet.size()) * view.interval_s / (2 * view.scale_s);
    if (independent < 12 || white <= 0) return otherwise;
    return robust_sd(std::move(quiet)) / white;
}

}  // namespace

namespace {

constexpr std::size_t at_once = 16;
struct Range {
    double low{}, high{};
};

GW_WIDE void ranges_of(double const* __restrict r, std::size_t count, Range* __restrict out) {
    for (std::size_t c = 0; c < count; ++c, r += at_once) {
        double low[4], high[4];
        for (std::size_t t = 0; t < 4; ++t) low[t] = high[t] = r[t];
        for (std::size_t k = 4; k < at_once; k += 4)
            for (std::size_t t = 0; t < 4; ++t) {
                low[t] = r[k + t] < low[t] ? r[k + t] : low[t];
                high[t] = r[k + t] > high[t] ? r[k + t] : high[t];
            }
        out[c] = {std::min(std::min(low[0], low[1]), std::min(low[2], low[3])),
                  std::max(std::max(high[0], high[1]), std::max(high[2], high[3]))};
    }
}

}  // namespace

std::vector<std::size_t> persistent_tops(std::span<double const> r,
                                         double sign,
                                         double least,
                                         double dip) {
    std::vector<std::size_t> found;
    std::size_t top = 0;
    double high = -INFINITY, low = INFINITY;
    bool rising = true;
    std::vector<Range> ranges(r.size() / at_once);
    ranges_of(r.data(), ranges.size(), ranges.data());
    for (std::size_t i = 0; i < r.size(); ++i) {
        // Sixteen in which nothing turns are passed over.
        while (i % at_once == 0 && i / at_once < ranges.size()) {
            auto const& seen = ranges[i / at_once];
            double const lowest = sign > 0 ? seen.low : -seen.high,
                         highest = sign > 0 ? seen.high : -seen.low;
            if (rising && (highest > high || lowest < high - dip)) break;
            if (!rising && highest > std::min(low, lowest) + dip) break;
            low = std::min(low, lowest);
            i += at_once;
        }
        if (i == r.size()) break;
        double const v = sign * r[i];
        if (rising) {
            if (v > high) high = v, top = i;
            if (v < high - dip) {
                if (high > least) found.push_back(top);
                rising = false;
                low = v;
            }
        } else {
            low = std::min(low, v);
            if (v > low + dip) {
                rising = true;
                high = v;
                top = i;
            }
        }
    }
    if (rising && high > least && std::isfinite(high)) found.push_back(top);
    return found;
}

namespace {

// How much the signal moves in a second away from peaks: drift and slow waves.
double usual_slope(std::span<double const> y, double dt) {
    auto const lag =
        std::max<std::size_t>(1, std::min(y.size() / 4, static_cast<std::size_t>(5 / dt)));
    std::vector<double> slopes;
    for (std::size_t i = 0; i + lag < y.size(); i += std::max<std::size_t>(1, lag / 20))
        slopes.push_back(std::abs(y[i + lag] - y[i]) / (static_cast<double>(lag) * dt));
    auto const middle = slopes.begin() + static_cast<std::ptrdiff_t>(slopes.size() / 2);
    std::nth_element(slopes.begin(), middle, slopes.end());
    return *middle;
}

// Beyond the ends the signal is continued as its own mirror image, which makes a peak of one that
// is cut there (and of any slope: hence the demand on the response).
void add_at_ends(std::span<double const> y,
                 double start_s,
                 double dt,
                 CandidateOptions const& o,
                 std::vector<Candidate>& out) {
    double const slope = usual_slope(y, dt);
    double const length = static_cast<double>(y.size()) * dt;
    for (bool const last : {false, true})
        for (double scale = std::max(2 * o.narrowest_s, 0.7 * dt);
             scale < std::min(2.0, length / 20);
             scale *= std::sqrt(2.0)) {
            auto const n = std::min(y.size(), static_cast<std::size_t>(12 * scale / dt) + 12);
            std::vector<double> folded(2 * n);
            for (std::size_t i = 0; i < n; ++i)
                folded[n + i] = folded[n - 1 - i] = last ? y[y.size() - 1 - i] : y[i];
            auto const view = curvature(folded, 0, dt, scale);
            double const sd = 1.5 * o.noise * view.white_gain,
                         least = std::max({1.3 * o.significance * sd, 9 * slope * scale, o.least});
            double const end = static_cast<double>(n) * dt;
            for (std::size_t const i :
                 persistent_tops(view.response, 1, least, o.separation * sd)) {
                double const inside = std::abs(
                    view.start_s +
                    (static_cast<double>(i) + refined(view.response, i)) * view.interval_s - end +
                    0.5 * dt);
                if (inside > 3 * scale || (!last && inside < 0.5 * scale)) continue;
                double const t = last ? start_s + length - dt - inside : start_s + inside;
                Candidate const seen{t, scale, view.response[i], view.response[i] / sd, true};
                auto const known = std::find_if(out.begin(), out.end(), [&](Candidate const& c) {
                    return c.response > 0 && std::abs(c.t - t) < 1.5 * std::max(scale, c.scale_s);
                });
                if (known == out.end()) out.push_back(seen);
                // Ripple of the flank, not the peak that the end cuts.
                else if (known->response < 0.3 * seen.response)
                    *known = seen;
            }
        }
}

}  // namespace

namespace {

// Noise on the broad cap of a tall peak, not a narrow peak of its own: it bends hardly more than a
// Gaussian as wide as the coarse view does at that fine scale, which is 2^1.5 (fine / coarse)^2 of
// its height.
bool is_ripple(Candidate const& fine, Candidate const& coarse) {
    double const part = fine.scale_s / coarse.scale_s;
    return std::abs(fine.response) <
           std::min(0.3, 1.6 * std::sqrt(8.0) * part * part) * std::abs(coarse.response);
}

}  // namespace

std::vector<Candidate> candidates(std::span<double const> y,
                                  double start_s,
                                  double interval_s,
                                  CandidateOptions const& options) {
    std::vector<Candidate> out;
    if (y.size() < 16) return out;
    double excess = 1;
    double const length = static_cast<double>(y.size()) * interval_s;
    for (double scale = std::max(options.narrowest_s, 0.7 * interval_s);
         scale <= std::min(options.widest_s, length / 12);
         scale *= std::sqrt(2.0)) {
        auto const view = curvature(y, start_s, interval_s, scale);
        // Slow noise does not fall with the scale as white noise does: the scatter of this scale's
        // own view, where nothing is known to stand, decides when it is larger.
        double const white = options.noise * view.white_gain;
        excess = std::max(1.0, quiet_excess(view, out, white, excess));
        double const sd = white * excess;
        for (double const sign : {1.0, -1.0})
            for (std::size_t const i :
                 persistent_tops(view.response,
                                 sign,
                                 std::max(options.significance * sd, options.least),
                                 std::max(options.separation * sd, options.least))) {
                Candidate const c{
                    view.start_s +
                        (static_cast<double>(i) + refined(view.response, i)) * view.interval_s,
                    scale,
                    view.response[i],
                    sd > 0 ? std::abs(view.response[i]) / sd : INFINITY};
                // Finer scales came first: they hold the places. A coarser view of one of them only
                // corrects its width; a coarser view of several together is nothing new.
                auto const here = [&](Candidate const& known) {
                    return known.response * sign > 0 && std::abs(known.t - c.t) < 1.1 * scale;
                };
                if (std::all_of(out.begin(), out.end(), [&](Candidate const& known) {
                        return !here(known) || is_ripple(known, c);
                    }))
                    std::erase_if(out, here);
                Candidate* same = nullptr;
                int holders = 0;
                for (auto& known : out)
                    if (here(known)) same = &known, ++holders;
                if (holders == 0) {
                    out.push_back(c);
                } else if (holders == 1 && c.significance > same->significance &&
                           std::abs(same->t - c.t) < 0.8 * scale) {
                    same->scale_s = c.scale_s;
                    same->response = c.response;
                    same->significance = c.significance;
                }
            }
    }
    add_at_ends(y, start_s, interval_s, options, out);
    std::sort(
        out.begin(), out.end(), [](Candidate const& a, Candidate const& b) { return a.t < b.t; });
    return out;
}

}  // namespace gw::trace
