#include "trace/peak_regions.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "trace/curvature.hpp"
#include "trace/noise.hpp"

namespace gw::trace {

namespace {

constexpr double half_width_of_sigma = 2.354820045030949;  // full width at half height of a Gaussian

// A box this wide quiets the noise and moves no flank: a sixth of the half width.
std::size_t box(double width_half_s, double dt) {
    return static_cast<std::size_t>(width_half_s / (12 * dt));
}

}  // namespace

std::size_t Regions::index(double t) const {
    double const i = std::round((t - trace.start_s) / trace.interval_s);
    return static_cast<std::size_t>(std::clamp(i, 0.0, static_cast<double>(y.size() - 1)));
}

std::vector<bool> Regions::free_samples(bool first_pass) const {
    std::vector<bool> free(y.size(), true);
    auto const occupy = [&](std::size_t from, std::size_t to) {
        std::fill(free.begin() + static_cast<std::ptrdiff_t>(from), free.begin() + static_cast<std::ptrdiff_t>(std::min(to, y.size())), false);
    };
    for (auto const& p : peaks) {
        if (first_pass) {
            double const s = p.candidate.scale_s;
            occupy(index(p.candidate.t - 5 * s), index(p.candidate.t + 9 * s) + 1);
        } else {
            // Never the whole run, however far a bad first background let a bound wander.
            double const t = trace.time(p.top);
            occupy(std::max(p.first, index(t - 4 * p.width_s)), std::min(p.last, index(t + 7 * p.width_s)));
        }
    }
    for (auto const& d : disturbances) occupy(index(d.at_s - 0.1), index(d.end_s) + 1);
    for (auto const& g : trace.gaps) occupy(g.first, g.last + 1);
    return free;
}

void Regions::find_steps(std::vector<bool> const& free) {
    steps_s.clear();
    std::vector<double> times;
    for (auto const& e : options.events) times.push_back(e.at_s);
    for (auto const& d : disturbances) times.push_back(d.at_s);
    std::sort(times.begin(), times.end());
    double const reach = 8;
    for (double const t : times) {
        if (!steps_s.empty() && t - steps_s.back() < 1.5) continue;
        if (t <= trace.start_s + 0.5 || t >= trace.end_s() - 0.5) continue;
        // Level, slope and a step through the free samples on both sides.
        Eigen::Matrix3d A = Eigen::Matrix3d::Zero();
        Eigen::Vector3d b = Eigen::Vector3d::Zero();
        std::size_t before = 0, after = 0;
        double squares = 0;
        for (std::size_t i = index(t - reach); i <= index(t + reach); ++i) {
            if (!free[i]) continue;
            double const u = trace.time(i) - t;
            Eigen::Vector3d const row(1, u, u >= 0 ? 1 : 0);
            A += row * row.transpose();
            b += row * y[i];
            squares += y[i] * y[i];
            ++(u >= 0 ? after : before);
        }
        auto const enough = static_cast<std::size_t>(std::max(6.0, 0.8 / trace.interval_s));
        if (before < enough || after < enough) continue;
        Eigen::Matrix3d const inverse = A.inverse();
        Eigen::Vector3d const c = inverse * b;
        double const residual = std::max(0.0, squares - c.dot(b)) / static_cast<double>(before + after - 3);
        double const u_step = std::sqrt(std::max(residual, fast * fast) * inverse(2, 2));
        if (std::isfinite(c(2)) && std::abs(c(2)) > 6 * u_step && std::abs(c(2)) > 1.0 * fast) steps_s.push_back(t);
    }
}

void Regions::lay_background(std::vector<bool> const& free) {
    // The stiffest line that leaves no slow waves behind: means over two seconds of what remains must
    // scatter as the fast noise says they should.
    for (double const stiffness : {240.0, 110.0, 55.0, 28.0}) {
        ground = background(y, free, trace.start_s, trace.interval_s, {stiffness, steps_s});
        std::vector<double> scatter;
        auto const block = std::max<std::size_t>(4, static_cast<std::size_t>(2 / trace.interval_s));
        for (std::size_t i = 0; i + block <= y.size(); i += block) {
            double sum = 0, count = 0;
            for (std::size_t k = i; k < i + block; ++k)
                if (free[k]) sum += y[k] - ground.level[k], count += 1;
            if (count >= 0.5 * static_cast<double>(block)) scatter.push_back(sum / (std::sqrt(count) * fast));
        }
        double squares = 0;
        for (double const z : scatter) squares += std::min(z * z, 25.0);
        if (scatter.size() < 6 || squares < 2.5 * static_cast<double>(scatter.size())) break;
    }
    above.resize(y.size());
    for (std::size_t i = 0; i < y.size(); ++i) above[i] = y[i] - ground.level[i];
    std::vector<double> quiet;
    for (std::size_t i = 0; i < y.size(); ++i)
        if (free[i]) quiet.push_back(above[i]);
    rms = quiet.size() >= 100 ? std::max(robust_sd(std::move(quiet)), fast * 0.5) : fast;
}

double Regions::neighbour_height(Region const& region) const {
    double highest = 0;
    for (auto const& other : peaks) {
        if (&other == &region) continue;
        double const reach = 6 * std::max(other.candidate.scale_s, region.candidate.scale_s);
        if (std::abs(other.candidate.t - region.candidate.t) < reach)
            highest = std::max(highest, std::abs(above[index(other.candidate.t)]));
    }
    return highest;
}

bool Regions::keep(Region& region, bool strict) const {
    auto const& c = region.candidate;
    double const dt = trace.interval_s;
    auto const smooth = box(half_width_of_sigma * c.scale_s, dt);
    std::size_t const from = index(c.t - 1.3 * c.scale_s - dt), to = index(c.t + 1.3 * c.scale_s + dt);
    auto const at = [&](std::size_t i) {  // moving mean, computed where it is wanted
        std::size_t const h = std::min({smooth, i, y.size() - 1 - i});
        double sum = 0;
        for (std::size_t k = i - h; k <= i + h; ++k) sum += above[k];
        return region.sign * sum / static_cast<double>(2 * h + 1);
    };
    std::size_t best = index(c.t);
    double height = at(best);
    for (std::size_t i = from; i <= to; ++i)
        if (double const v = at(i); v > height) height = v, best = i;
    double const response = std::abs(c.response);
    region.shoulder = best == from || best == to;
    if (region.shoulder) best = index(c.t);
    region.top = best;
    if (best <= 1 || best + 2 >= y.size()) return false;  // the flank of something unseen
    if (!strict) return true;  // the background is not settled enough to refuse anything
    if (height < options.signal_to_noise * rms || height <= 0) return false;
    if (response > 3 * height) return false;  // the edge of something that points the other way
    // What is left where a kick was taken off is no evidence against a share of the kick itself.
    for (auto const& d : disturbances) {
        double const t = trace.time(best), decay = std::max(0.1, (d.end_s - d.at_s) / 5);
        if (t > d.at_s - 0.5 && t < d.end_s + 3 * decay && height < 0.25 * std::abs(d.height) * std::exp(-std::max(0.0, t - d.at_s) / (3 * decay))) return false;
    }
    double const beside_it = neighbour_height(region);
    if (region.sign < 0 && (height < 0.004 * beside_it || response < 0.35 * height)) return false;
    return !region.shoulder || (region.sign > 0 && response > 3e-4 * beside_it);
}

// Two tops are two peaks when the signal between them dips below the lower one by more than the noise;
// a rider without a valley shows in that the signal bends upward between the two.
bool Regions::parted(Region const& a, Region const& b) const {
    double const scale = std::min(a.candidate.scale_s, b.candidate.scale_s);
    if (b.top < a.top + 3) return false;
    if (!a.shoulder && !b.shoulder) {
        auto const smooth = box(half_width_of_sigma * scale, trace.interval_s);
        std::vector<double> v(above.begin() + static_cast<std::ptrdiff_t>(a.top), above.begin() + static_cast<std::ptrdiff_t>(b.top) + 1);
        v = moving_mean(v, std::min(smooth, v.size() / 4));
        double const lower = std::min(a.sign * v.front(), a.sign * v.back());
        double least = INFINITY;
        for (double const x : v) least = std::min(least, a.sign * x);
        if (least < lower - 5 * rms / std::sqrt(static_cast<double>(2 * smooth + 1)) - 1e-4 * std::abs(lower)) return true;
    }
    double const from = a.candidate.t, to = b.candidate.t;
    double const sd = fast * white_noise_gain(scale, trace.interval_s);
    auto const bend = [&](double t) { return a.sign * curvature_at(y, index(t), trace.interval_s, scale); };
    double const lower = std::min(bend(from), bend(to));
    if (lower < 5.5 * sd) return false;
    double least = INFINITY;
    for (int k = 1; k < 16; ++k) least = std::min(least, bend(from + (to - from) * k / 16.0));
    return least < -3 * sd && least < -0.02 * lower;
}

// Full width at half height as far as the flanks show it, else what the scale says.
double Regions::half_width_at(Region const& p) const {
    auto const smooth = box(half_width_of_sigma * p.candidate.scale_s, trace.interval_s);
    auto const at = [&](std::size_t i) {
        std::size_t const h = std::min({smooth, i, y.size() - 1 - i});
        double sum = 0;
        for (std::size_t k = i - h; k <= i + h; ++k) sum += above[k];
        return p.sign * sum / static_cast<double>(2 * h + 1);
    };
    double const height = at(p.top), guess = half_width_of_sigma * p.candidate.scale_s;
    if (height <= 0 || p.shoulder) return guess;
    auto const reach = static_cast<std::size_t>(4 * guess / trace.interval_s) + 2;
    std::size_t left = p.top, right = p.top;
    while (left > 0 && p.top - left < reach && at(left) > 0.5 * height) --left;
    while (right + 1 < y.size() && right - p.top < reach && at(right) > 0.5 * height) ++right;
    double const front = static_cast<double>(p.top - left) * trace.interval_s, back = static_cast<double>(right - p.top) * trace.interval_s;
    // A flank that a neighbour or a wrong background holds up is replaced by the other one.
    return front > 2.5 * back ? 2.2 * back : back > 3.5 * front ? 2.6 * front : front + back;
}

void Regions::bound_peaks() {
    double const dt = trace.interval_s;
    auto const n = y.size();
    for (std::size_t k = 0; k < peaks.size(); ++k) {
        auto& p = peaks[k];
        p.width_s = half_width_at(p);
        double const width = p.width_s;
        auto const quiet = [&] {
            std::size_t const from = k == 0 ? 0 : peaks[k - 1].top, to = k + 1 < peaks.size() ? peaks[k + 1].top + 1 : n;
            std::size_t const reach = index(trace.start_s + (8 * width + 1)) + 2;
            std::size_t const first = std::max(from, p.top > reach ? p.top - reach : 0), last = std::min(to, p.top + 2 * reach);
            std::vector<double> v(above.begin() + static_cast<std::ptrdiff_t>(first), above.begin() + static_cast<std::ptrdiff_t>(last));
            for (double& x : v) x *= p.sign;
            auto const smooth = std::max(box(width, dt), static_cast<std::size_t>(0.0));
            return std::make_tuple(first, moving_mean(v, smooth), smooth);
        }();
        std::size_t const first = std::get<0>(quiet), smooth = std::get<2>(quiet);
        auto const& v = std::get<1>(quiet);
        double const height = v[p.top - first];
        double const noise = rms / std::sqrt(static_cast<double>(2 * smooth + 1));
        double const end_level = std::max({1.2 * noise, 3e-6 * height, 1e-12});
        auto const stretch = static_cast<std::ptrdiff_t>(std::max(4.0, 0.6 * width / dt));
        auto const level_for = [&](std::ptrdiff_t i, int step) {
            double low = INFINITY, high = -INFINITY;
            for (std::ptrdiff_t j = i, n_left = stretch; n_left > 0; j += step, --n_left) {
                if (j < 0 || j >= static_cast<std::ptrdiff_t>(v.size())) return false;
                low = std::min(low, v[static_cast<std::size_t>(j)]), high = std::max(high, v[static_cast<std::size_t>(j)]);
                if (high - low > 4 * noise + 3e-6 * height) return false;
            }
            return true;
        };
        auto const walk = [&](int step, bool& joined, double extension) {
            auto i = static_cast<std::ptrdiff_t>(p.top - first), lowest = i;
            auto const size = static_cast<std::ptrdiff_t>(v.size());
            bool reached = false;
            while (i + step >= 0 && i + step < size) {
                i += step;
                if (v[static_cast<std::size_t>(i)] < v[static_cast<std::size_t>(lowest)]) lowest = i;
                // At the background, or on something as flat as it, whatever its level: a background laid
                // too low at first must not keep a peak from ending.
                bool const flat = v[static_cast<std::size_t>(i)] < 0.35 * height && level_for(i, step);
                if (v[static_cast<std::size_t>(i)] < end_level || flat) {
                    reached = true;
                    break;
                }
            }
            bool const neighbour = step < 0 ? k > 0 : k + 1 < peaks.size();
            // The rest of the flank is below the noise but not nothing: go on in proportion.
            auto const far = static_cast<std::ptrdiff_t>(p.top - first) - i;
            std::ptrdiff_t end = i;
            if (reached) end += step * static_cast<std::ptrdiff_t>(std::ceil(extension * static_cast<double>(std::abs(far)) + 0.15 * width / dt));
            joined = false;
            if (!reached && neighbour) end = lowest, joined = true;
            return static_cast<std::size_t>(std::clamp(end + static_cast<std::ptrdiff_t>(first), std::ptrdiff_t{0}, static_cast<std::ptrdiff_t>(n)));
        };
        p.first = walk(-1, p.joined_before, 0.3);
        p.last = std::max(walk(1, p.joined_after, 0.45), p.top + 1);
    }
    // Two neighbours that meet share one border: the lowest point between their tops.
    for (std::size_t k = 0; k + 1 < peaks.size(); ++k) {
        auto &a = peaks[k], &b = peaks[k + 1];
        if (a.last <= b.first && !a.joined_after && !b.joined_before) continue;
        auto const smooth = box(std::min(a.width_s, b.width_s), dt);
        std::vector<double> v(above.begin() + static_cast<std::ptrdiff_t>(a.top), above.begin() + static_cast<std::ptrdiff_t>(b.top) + 1);
        v = moving_mean(v, std::min(smooth, v.size() / 6));
        double const sign = a.sign == b.sign ? a.sign : 0;
        std::size_t border = a.top;
        if (b.shoulder || a.shoulder) {  // no valley: where the signal bends upward most
            double const scale = std::min(a.candidate.scale_s, b.candidate.scale_s);
            double least = INFINITY;
            for (int j = 1; j < 24; ++j) {
                std::size_t const i = a.top + (b.top - a.top) * static_cast<std::size_t>(j) / 24;
                if (double const bend = a.sign * curvature_at(y, i, dt, scale); bend < least) least = bend, border = i;
            }
        } else if (sign != 0) {
            double least = INFINITY;
            for (std::size_t i = 0; i < v.size(); ++i)
                if (sign * v[i] < least) least = sign * v[i], border = a.top + i;
        } else {  // a peak and a dip: where the signal crosses the background
            while (border < b.top && above[border] * a.sign > 0) ++border;
        }
        a.last = std::max(border, a.top + 1), b.first = std::min(border, b.top);
        a.joined_after = b.joined_before = true;
    }
}

void Regions::choose(bool strict) {
    std::vector<Region> chosen;
    for (auto const& c : found) {
        Region r{c, c.response < 0 ? -1.0 : 1.0};
        // Every peak has a dip in its curvature on either side: until the background is settled only a
        // dip that stands alone can be told from those.
        bool const beside_a_peak = std::any_of(found.begin(), found.end(), [&](Candidate const& other) {
            return other.response > 0 && std::abs(other.t - c.t) < 5 * std::max(other.scale_s, c.scale_s);
        });
        if (!strict && r.sign < 0 && beside_a_peak) continue;
        if (!keep(r, strict)) continue;
        // One top, one peak; and two tops of one sign need a dip between them. The clearer one stays.
        bool stays = true;
        while (!chosen.empty()) {
            auto const& before = chosen.back();
            if (r.top > before.top && (r.sign != before.sign || parted(before, r))) break;
            stays = before.shoulder != r.shoulder ? before.shoulder : c.significance > before.candidate.significance;
            if (!stays) break;
            chosen.pop_back();
        }
        if (stays) chosen.push_back(r);
    }
    peaks = std::move(chosen);
}

void Regions::settle() {
    CandidateOptions search;
    search.noise = fast;
    search.narrowest_s = 0.85 * options.narrowest_half_width_s / half_width_of_sigma;
    search.widest_s = options.widest_half_width_s / half_width_of_sigma;
    found = candidates(y, trace.start_s, trace.interval_s, search);
    for (auto const& c : found)
        if (c.response > 0) peaks.push_back({c, 1.0});
    for (int pass = 0; pass < 4; ++pass) {
        auto const free = free_samples(pass == 0);
        if (pass > 0) find_steps(free);
        lay_background(free);
        choose(pass >= 2);
        bound_peaks();
    }
}

void Regions::measure() {
    std::vector<Region> kept;
    for (auto& p : peaks) {
        auto const smooth = box(half_width_of_sigma * p.candidate.scale_s, trace.interval_s) / 2;
        bool const quiet = std::abs(above[p.top]) > 200 * rms;
        p.shape = peak_shape(above, p.first, p.last, p.top, p.sign, trace.start_s, trace.interval_s, quiet ? 0 : smooth);
        if (p.shoulder) {  // the flank it sits on hides its shape: what the curvature says must do
            p.shape = {p.candidate.t, p.candidate.response, half_width_of_sigma * p.candidate.scale_s};
            p.shape.front_half_s = 0.5 * p.shape.width_half_s;
        }
        bool const narrow = p.shape.width_half_s < 0.6 * options.narrowest_half_width_s;
        bool const wide = p.shape.width_half_s > 1.4 * options.widest_half_width_s;
        if (!narrow && !wide) kept.push_back(p);
    }
    peaks = std::move(kept);
}

}  // namespace gw::trace
