#include "trace/peak_areas.hpp"

#include <algorithm>
#include <cmath>

#include "trace/cluster_fit.hpp"

namespace gw::trace {

namespace {

constexpr double sigma_of_half_width = 1 / 2.354820045030949;

double sum_between(std::vector<double> const& r, std::size_t first, std::size_t last, double dt) {
    double sum = 0;
    for (std::size_t i = first; i < last; ++i) sum += r[i];
    return sum * dt;
}

// Rectangle sums count sample i for [i - 1/2, i + 1/2): a border between samples lies there.
double border_time(Survey const& s, std::size_t i) { return s.time(i) - 0.5 * s.dt; }

bool is_saturated(std::span<float const> raw, Region const& p, double dt, PeakOptions const& options) {
    float top = raw[p.top];
    for (std::size_t i = p.first; i < p.last; ++i)
        if (p.sign * raw[i] > p.sign * top) top = raw[i];
    std::size_t run = 0, longest = 0;
    for (std::size_t i = p.first; i < p.last; ++i) {
        run = raw[i] == top ? run + 1 : 0;
        longest = std::max(longest, run);
    }
    double const limit = p.sign > 0 ? options.range_high.value_or(INFINITY) : options.range_low.value_or(-INFINITY);
    if (p.sign * (static_cast<double>(top) - limit) >= 0 && longest >= 2) return true;
    return longest >= std::max<std::size_t>(4, static_cast<std::size_t>(0.08 * p.shape.width_half_s / dt));
}

// The signal breaks off: at an end of the record, or by a fall at a valve event that no peak makes.
bool is_cut(Survey const& s, Regions const& r, Region const& p) {
    double const height = std::abs(p.shape.height);
    if (p.first == 0 && std::abs(r.above[0]) > 0.03 * height + 4 * r.rms) return true;
    if (p.last >= s.y.size() && std::abs(r.above.back()) > 0.03 * height + 4 * r.rms) return true;
    double const dt = s.dt;
    auto const lag = std::max<std::size_t>(2, static_cast<std::size_t>(0.12 / dt));
    for (auto const& event : s.options.events) {
        std::size_t const at = s.index(event.at_s);
        if (at < p.first + 2 * lag || at + 3 * lag >= p.last + 4 * lag || at + 3 * lag >= s.y.size()) continue;
        for (std::size_t i = at; i <= at + lag; ++i) {
            double const fall = p.sign * (r.above[i - 1] - r.above[std::min(i + lag, s.y.size() - 1)]);
            double const usual = std::abs(r.above[i - 1 - lag] - r.above[i - 1]);
            if (fall > 0.08 * height + 6 * r.rms && fall > 3 * usual + 4 * r.rms) return true;
        }
    }
    return false;
}

struct Share {
    double area{}, correction{}, u_fit{};
    Baseline baseline = Baseline::straight;
    bool fitted = false, rider = false;
};

// A small peak on the falling flank of a big one: everything above the line from valley to end.
bool skim_rider(Survey const& s, Regions const& r, Region const& big, Region const& small, bool behind, Share& big_share, Share& small_share) {
    double const dt = s.dt;
    std::size_t const border = behind ? small.first : small.last, other = behind ? small.last : small.first;
    double const valley = std::abs(r.above[std::min(border, s.y.size() - 1)]);
    bool const rides = std::abs(small.shape.height) < 0.1 * std::abs(big.shape.height) && valley > 0.1 * std::abs(small.shape.height);
    if (!rides) return false;
    double const a = r.above[std::min(border, s.y.size() - 1)], b = r.above[std::min(other, s.y.size() - 1)];
    double const under = 0.5 * (a + b) * static_cast<double>(small.last - small.first) * dt;
    small_share.area -= under, big_share.area += under;
    small_share.baseline = Baseline::skim;
    small_share.rider = true;
    return true;
}

}  // namespace

std::vector<Peak> measured_peaks(Survey const& s, Regions const& r, std::span<float const> raw, int detector) {
    double const dt = s.dt;
    std::vector<Peak> out;
    std::vector<Share> shares(r.peaks.size());
    std::vector<PeakShape> shapes;
    for (std::size_t k = 0; k < r.peaks.size(); ++k) {
        shares[k].area = sum_between(r.above, r.peaks[k].first, r.peaks[k].last, dt);
        shapes.push_back(r.peaks[k].shape);
    }
    for (std::size_t a = 0; a < r.peaks.size();) {
        std::size_t b = a + 1;
        while (b < r.peaks.size() && r.peaks[b - 1].joined_after && r.peaks[b].joined_before) ++b;
        bool saturated = false, one_sign = true;
        double deepest = 0;  // how far the valleys stand above the background, against the smaller neighbour
        for (std::size_t k = a; k < b; ++k) {
            saturated = saturated || is_saturated(raw, r.peaks[k], dt, s.options);
            one_sign = one_sign && r.peaks[k].sign > 0;
            if (k + 1 < b) {
                double const valley = std::abs(r.above[std::min(r.peaks[k].last, s.y.size() - 1)]);
                deepest = std::max(deepest, valley / std::max(1e-300, std::min(std::abs(shapes[k].height), std::abs(shapes[k + 1].height))));
                shares[k].baseline = shares[k + 1].baseline = valley < 3 * r.rms ? Baseline::valley : Baseline::drop;
            }
        }
        if (b - a >= 2 && one_sign && !saturated && b - a <= 12) {
            std::vector<Emg> start;
            for (std::size_t k = a; k < b; ++k) {
                auto const& shape = shapes[k];
                double const sigma = std::max(0.5 * dt, 0.85 * std::min(shape.width_half_s, 2.6 * r.peaks[k].candidate.scale_s) * sigma_of_half_width);
                double const tau = 0.35 * sigma;
                start.push_back({shape.height * sigma * 2.6, shape.apex_s - 0.3 * tau, sigma, tau});
            }
            std::size_t const first = r.peaks[a].first, last = r.peaks[b - 1].last;
            auto const fit = fit_cluster(std::span<double const>(r.above).subspan(first, last - first), s.time(first), dt, std::max(r.rms, s.fast), start);
            if (fit.converged && fit.largest_departure < 0.06) {
                for (std::size_t k = a; k < b; ++k) {
                    auto const& p = r.peaks[k];
                    double const left = border_time(s, p.first), right = border_time(s, p.last);
                    double correction = 0;
                    for (std::size_t j = a; j < b; ++j) {
                        auto const& shape = fit.peaks[j - a];
                        if (j != k) correction -= area_before(shape, right) - area_before(shape, left);
                    }
                    auto const& own = fit.peaks[k - a];
                    if (k > a) correction += area_before(own, left);
                    if (k + 1 < b) correction += own.area - area_before(own, right);
                    shares[k].correction = correction;
                    shares[k].area += correction;
                    shares[k].u_fit = fit.area_u[k - a];
                    // Worth the name only where the shapes moved the area or the drop was no clean cut.
                    shares[k].fitted = std::abs(correction) > 1e-4 * std::abs(shares[k].area);
                    if (shares[k].fitted) shares[k].baseline = Baseline::fitted;
                    std::vector<double> alone(r.above.begin() + static_cast<std::ptrdiff_t>(first), r.above.begin() + static_cast<std::ptrdiff_t>(last));
                    for (std::size_t i = 0; i < alone.size(); ++i)
                        for (std::size_t j = a; j < b; ++j)
                            if (j != k) alone[i] -= value(fit.peaks[j - a], s.time(first + i));
                    bool const overlaps = deepest > 0.005;
                    if (overlaps) {
                        auto const smooth = std::abs(p.shape.height) > 200 * r.rms ? 0 : static_cast<std::size_t>(p.candidate.scale_s / (10 * dt));
                        shapes[k] = peak_shape(alone, 0, alone.size(), p.top - first, p.sign, s.time(first), dt, smooth);
                    }
                }
            } else {
                for (std::size_t k = a; k + 1 < b; ++k) {
                    auto const &p = r.peaks[k], &q = r.peaks[k + 1];
                    if (!skim_rider(s, r, p, q, true, shares[k], shares[k + 1])) skim_rider(s, r, q, p, false, shares[k + 1], shares[k]);
                }
            }
        }
        a = b;
    }
    for (std::size_t k = 0; k < r.peaks.size(); ++k) {
        auto const& p = r.peaks[k];
        Peak peak;
        peak.detector = detector;
        peak.start_s = s.time(p.first);
        peak.apex_s = shapes[k].apex_s;
        peak.end_s = s.time(std::min(p.last, s.y.size()) - 1);
        peak.area = shares[k].area;
        peak.height = shapes[k].height;
        peak.width_half_s = shapes[k].width_half_s;
        peak.asymmetry = shapes[k].asymmetry;
        peak.baseline = shares[k].baseline;
        double const width = static_cast<double>(p.last - p.first) * dt;
        double const noise = r.rms * std::sqrt(width * dt), ground = r.rms * r.ground.u_mean(p.first, p.last) * width;
        double const overlap = std::hypot(0.1 * shares[k].correction, std::abs(shares[k].correction) > 0 ? std::min(shares[k].u_fit, std::abs(shares[k].correction)) : 0.0);
        peak.area_u = std::sqrt(noise * noise + ground * ground + overlap * overlap);
        peak.flags.negative = p.sign < 0;
        peak.flags.shoulder = p.shoulder;
        peak.flags.fitted = shares[k].fitted;
        peak.flags.rider = shares[k].rider;
        peak.flags.saturated = is_saturated(raw, p, dt, s.options);
        peak.flags.cut = is_cut(s, r, p);
        for (auto const& gap : s.gaps) peak.flags.gap = peak.flags.gap || (gap.last >= p.first && gap.first < p.last);
        out.push_back(peak);
    }
    for (std::size_t k = 0; k + 1 < out.size(); ++k) {
        auto &a = out[k], &b = out[k + 1];
        a.resolution_next = 1.18 * (b.apex_s - a.apex_s) / (a.width_half_s + b.width_half_s);
        // Below one, equal peaks keep a valley of a third of their height or more (IUPAC resolution).
        if (*a.resolution_next < 1.0 && r.peaks[k].joined_after) a.flags.merged = b.flags.merged = true;
    }
    return out;
}

}  // namespace gw::trace
