#include "trace/region_bounds.hpp"

#include "trace/curvature.hpp"

namespace gw::trace {

namespace {

// Full width at half height as far as the flanks show it, else what the scale says.
double half_width_at(Survey const& s, std::span<double const> above, Region const& p) {
    auto const smooth = quiet_half(half_width_of_sigma * p.candidate.scale_s, s.dt);
    auto const at = [&](std::size_t i) { return p.sign * mean_at(above, i, smooth); };
    double const height = at(p.top), guess = half_width_of_sigma * p.candidate.scale_s;
    if (height <= 0 || p.shoulder) return guess;
    auto const reach = static_cast<std::size_t>(4 * guess / s.dt) + 2;
    std::size_t left = p.top, right = p.top;
    while (left > 0 && p.top - left < reach && at(left) > 0.5 * height) --left;
    while (right + 1 < s.y.size() && right - p.top < reach && at(right) > 0.5 * height) ++right;
    double const front = static_cast<double>(p.top - left) * s.dt,
                 back = static_cast<double>(right - p.top) * s.dt;
    // A flank that the record does not hold is taken to be like the other one.
    if (right + 1 == s.y.size() && at(right) > 0.5 * height) return 2 * front;
    if (left == 0 && at(left) > 0.5 * height) return 2 * back;
    // A flank that a neighbour or a wrong background holds up is replaced by the other one.
    return front > 2.5 * back ? 2.2 * back : back > 3.5 * front ? 2.6 * front : front + back;
}

// One peak's neighbourhood, smoothed and turned so that the peak points up.
struct Flanks {
    std::size_t first{};  // sample of v[0]
    std::vector<double> v;
    double noise{}, height{}, width_s{};
    std::ptrdiff_t top{};
};

Flanks flanks_of(Survey const& s, Regions const& r, std::size_t k) {
    auto const& p = r.peaks[k];
    Flanks out;
    out.width_s = p.width_s;
    std::size_t const from = k == 0 ? 0 : r.peaks[k - 1].top,
                      to = k + 1 < r.peaks.size() ? r.peaks[k + 1].top + 1 : s.y.size();
    auto const reach = static_cast<std::size_t>((8 * p.width_s + 1) / s.dt) + 2;
    out.first = std::max(from, p.top > reach ? p.top - reach : 0);
    std::size_t const last = std::min(to, p.top + 2 * reach);
    std::vector<double> v(r.above.begin() + static_cast<std::ptrdiff_t>(out.first),
                          r.above.begin() + static_cast<std::ptrdiff_t>(last));
    for (double& x : v) x *= p.sign;
    auto const smooth = quiet_half(p.width_s, s.dt);
    out.v = moving_mean(v, smooth);
    out.noise = r.rms / std::sqrt(static_cast<double>(2 * smooth + 1));
    out.top = static_cast<std::ptrdiff_t>(p.top - out.first);
    out.height = out.v[static_cast<std::size_t>(out.top)];
    return out;
}

// Whether the signal stays within the noise over the next stretch, whatever its level.
bool level_from(Flanks const& f, std::ptrdiff_t i, int step, double dt) {
    auto const stretch = static_cast<std::ptrdiff_t>(std::max(4.0, 0.6 * f.width_s / dt));
    double low = INFINITY, high = -INFINITY;
    for (std::ptrdiff_t left = stretch; left > 0; i += step, --left) {
        if (i < 0 || i >= static_cast<std::ptrdiff_t>(f.v.size())) return false;
        low = std::min(low, f.v[static_cast<std::size_t>(i)]),
        high = std::max(high, f.v[static_cast<std::size_t>(i)]);
        if (high - low > 4 * f.noise + 3e-6 * f.height) return false;
    }
    return true;
}

struct End {
    std::size_t sample{};
    bool joined = false;
};

// Walks down a flank to the background, or to the lowest point before the neighbour.
End end_of(
    Flanks const& f, int step, bool neighbour, double extension, std::size_t samples, double dt) {
    double const end_level = std::max({1.2 * f.noise, 3e-6 * f.height, 1e-12});
    auto const size = static_cast<std::ptrdiff_t>(f.v.size());
    auto i = f.top, lowest = i;
    bool reached = false;
    while (i + step >= 0 && i + step < size) {
        i += step;
        double const here = f.v[static_cast<std::size_t>(i)];
        if (here < f.v[static_cast<std::size_t>(lowest)]) lowest = i;
        // At the background, or on something as flat as it: a background laid too low at first must
        // not keep a peak from ending.
        if (here < end_level || (here < 0.35 * f.height && level_from(f, i, step, dt))) {
            reached = true;
            break;
        }
    }
    std::ptrdiff_t end = i;
    bool const joined = !reached && neighbour;
    if (joined) {
        end = lowest;
    } else if (reached) {  // the rest of the flank is below the noise but not nothing: go on in
                           // proportion
        end += step *
               static_cast<std::ptrdiff_t>(std::ceil(
                   extension * static_cast<double>(std::abs(f.top - i)) + 0.15 * f.width_s / dt));
    } else if (step > 0 && f.first + f.v.size() == samples) {
        end = size;  // still up when the record ends: no sample is left for the background
    }
    auto const n = static_cast<std::ptrdiff_t>(samples);
    return {static_cast<std::size_t>(
                std::clamp(end + static_cast<std::ptrdiff_t>(f.first), std::ptrdiff_t{0}, n)),
            joined};
}

// From the top to where the flank is lost in the noise, told by how it falls higher up, where a
// wrong background does little. What a linear column and its cells make is log-concave: each part
// of a flank falls faster than the part above it, so each says how far the flank reaches at most.
// Nothing where a neighbour hides all of them.
double reach_of(Flanks const& f, int step, double noise, double dt) {
    auto const size = static_cast<std::ptrdiff_t>(f.v.size());
    auto const down_to = [&](double share) {
        auto i = f.top;
        double lowest = f.height;
        while (i >= 0 && i < size && f.v[static_cast<std::size_t>(i)] > share * f.height) {
            lowest = std::min(lowest, f.v[static_cast<std::size_t>(i)]);
            if (f.v[static_cast<std::size_t>(i)] > lowest + 5 * f.noise + 0.05 * f.height)
                return -1.0;
            i += step;
        }
        if (i < 0 || i >= size) return -1.0;
        // Between two samples, by the straight line: few of them make a narrow peak.
        double const out = f.v[static_cast<std::size_t>(i)],
                     in = f.v[static_cast<std::size_t>(i - step)];
        double const part = in > out ? (in - share * f.height) / (in - out) : 0;
        return (static_cast<double>(std::abs(i - step - f.top)) + part) * dt;
    };
    if (!(f.height > 20 * noise)) return INFINITY;
    double reach = INFINITY;
    for (double const low : {0.06, 0.1, 0.18, 0.3}) {
        double const near = down_to(1.8 * low), far = down_to(low);
        if (far < 0 || near < 0) continue;
        double const fall_s = std::max(far - near, 0.1 * f.width_s) / std::log(1.8);
        reach =
            std::min(reach, far + fall_s * std::log(std::max(1.0, low * f.height / (0.3 * noise))));
    }
    return reach;
}

// The sample that parts two neighbours: the lowest between their tops; for a shoulder, where the
// signal bends upward most beside it; for a peak and a dip, where the signal crosses the
// background.
std::size_t border_between(Survey const& s,
                           std::vector<double> const& above,
                           Region const& a,
                           Region const& b) {
    if (a.sign != b.sign) {
        std::size_t border = a.top;
        while (border < b.top && above[border] * a.sign > 0) ++border;
        return border;
    }
    std::size_t border = a.top;
    double least = INFINITY;
    if (a.shoulder || b.shoulder) {
        double const scale = std::min(a.candidate.scale_s, b.candidate.scale_s);
        // The big peak's own foot bends upward too: stay near the shoulder.
        double const reach = 3 * (b.shoulder ? b : a).candidate.scale_s;
        std::size_t const from =
            b.shoulder ? std::max(a.top, s.index(b.candidate.t - reach)) : a.top;
        std::size_t const to = b.shoulder ? b.top : std::min(b.top, s.index(a.candidate.t + reach));
        CurvatureFilter const filter(scale, s.dt);
        for (std::size_t j = 1; j < 24; ++j) {
            std::size_t const i = from + (to - from) * j / 24;
            if (double const bend = a.sign * filter.at(s.y, i); bend < least)
                least = bend, border = i;
        }
        return border;
    }
    std::vector<double> v(above.begin() + static_cast<std::ptrdiff_t>(a.top),
                          above.begin() + static_cast<std::ptrdiff_t>(b.top) + 1);
    v = moving_mean(v, std::min(quiet_half(std::min(a.width_s, b.width_s), s.dt), v.size() / 6));
    for (std::size_t i = 0; i < v.size(); ++i)
        if (a.sign * v[i] < least) least = a.sign * v[i], border = a.top + i;
    return border;
}

}  // namespace

void bound_peaks(Survey const& s, Regions& r) {
    for (auto& p : r.peaks) p.width_s = half_width_at(s, r.above, p);
    for (std::size_t k = 0; k < r.peaks.size(); ++k) {
        auto& p = r.peaks[k];
        auto const flanks = flanks_of(s, r, k);
        auto const front = end_of(flanks, -1, k > 0, 0.3, s.y.size(), s.dt);
        auto const back = end_of(flanks,
                                 1,
                                 k + 1 < r.peaks.size(),
                                 0.45,
                                 s.y.size(),
                                 s.dt);  // tails are longer than fronts
        p.front_s = reach_of(flanks, -1, r.rms, s.dt), p.back_s = reach_of(flanks, 1, r.rms, s.dt);
        p.first = front.sample, p.joined_before = front.joined;
        p.last = std::max(back.sample, p.top + 1), p.joined_after = back.joined;
    }
    for (std::size_t k = 0; k + 1 < r.peaks.size(); ++k) {
        auto &a = r.peaks[k], &b = r.peaks[k + 1];
        if (a.last <= b.first && !a.joined_after && !b.joined_before) continue;
        std::size_t const border = border_between(s, r.above, a, b);
        a.last = std::max(border, a.top + 1),
        b.first = std::min(std::max(border, a.top + 1), b.top);
        a.joined_after = b.joined_before = true;
    }
}

}  // namespace gw::trace
