#include "trace/region_choice.hpp"

#include "trace/curvature.hpp"

namespace gw::trace {

namespace {

double neighbour_height(Survey const& s, Regions const& r, Candidate const& c) {
    double highest = 0;
    for (auto const& other : r.peaks) {
        double const reach = 6 * std::max(other.candidate.scale_s, c.scale_s);
        if (std::abs(other.candidate.t - c.t) < reach && other.candidate.t != c.t)
            highest = std::max(highest, std::abs(r.above[s.index(other.candidate.t)]));
    }
    return highest;
}

// What is left where a kick was taken off is no evidence against a share of the kick itself.
bool explained_by_kick(Survey const& s, Candidate const& c, double t, double height) {
    return std::any_of(s.disturbances.begin(), s.disturbances.end(), [&](Disturbance const& d) {
        double const decay = std::max(
            0.1, (d.end_s - d.at_s) / std::log(std::max(2.0, std::abs(d.height) / s.fast)));
        double const left =
            std::abs(d.height) * std::exp(-std::max(0.0, t - d.at_s) / (1.3 * decay));
        return t > d.at_s - 0.3 && t < d.end_s + decay &&
               height < (d.known && c.scale_s < 0.3 ? 0.3 : 0.1) * left;
    });
}

// Sets the region's top and tells whether it is worth keeping.
bool keep(Survey const& s, Regions const& r, Region& region, bool strict) {
    auto const& c = region.candidate;
    auto const smooth = quiet_half(half_width_of_sigma * c.scale_s, s.dt);
    std::size_t const from = s.index(c.t - 1.3 * c.scale_s - s.dt),
                      to = s.index(c.t + 1.3 * c.scale_s + s.dt);
    auto const means = means_at(r.above, from, to, smooth);
    std::size_t best = s.index(c.t);
    double height = region.sign * means[best - from];
    for (std::size_t i = from; i <= to; ++i)
        if (double const v = region.sign * means[i - from]; v > height) height = v, best = i;
    double const response = std::abs(c.response);
    bool const reaches_end = from == 0 || to + 1 >= s.y.size();
    region.shoulder = (best == from || best == to) && !(c.at_end && reaches_end);
    if (region.shoulder) best = s.index(c.t);
    region.top = best;
    if (!c.at_end && (best <= 1 || best + 2 >= s.y.size()))
        return false;          // the flank of something unseen
    if (!strict) return true;  // the background is not settled enough to refuse anything
    if (height < std::max(s.options.signal_to_noise * r.rms, 2 * s.grain) || height <= 0)
        return false;
    if (response > 3 * height) return false;  // the edge of something that points the other way
    if (explained_by_kick(s, c, s.time(best), height)) return false;
    double const beside_it = neighbour_height(s, r, c);
    if (region.sign < 0 && (height < 0.004 * beside_it || response < 0.35 * height)) return false;
    return !region.shoulder || (region.sign > 0 && response > 1e-4 * beside_it);
}

// Two tops are two peaks when the signal between them dips below the lower one by more than the
// noise; a rider without a valley shows in that the signal bends upward between the two.
bool parted(Survey const& s, Regions const& r, Region const& a, Region const& b) {
    double const scale = std::min(a.candidate.scale_s, b.candidate.scale_s);
    if (b.top < a.top + 3) return false;
    if (!a.shoulder && !b.shoulder) {
        auto const smooth = quiet_half(half_width_of_sigma * scale, s.dt);
        std::vector<double> v(r.above.begin() + static_cast<std::ptrdiff_t>(a.top),
                              r.above.begin() + static_cast<std::ptrdiff_t>(b.top) + 1);
        // What is left of a kick is no valley.
        for (auto const& d : s.disturbances) {
            std::size_t const from = std::clamp(s.index(d.at_s - 0.1), a.top, b.top) - a.top,
                              to = std::clamp(
                                       s.index(std::clamp(d.end_s, d.at_s + 0.2, d.at_s + 0.6)) + 1,
                                       a.top,
                                       b.top) -
                                   a.top;
            for (std::size_t i = from; i < to; ++i)
                v[i] = v[from] + (v[to] - v[from]) * static_cast<double>(i - from) /
                                     static_cast<double>(to - from);
        }
        v = moving_mean(v, std::min(smooth, v.size() / 4));
        double const lower = std::min(a.sign * v.front(), a.sign * v.back());
        double least = INFINITY;
        for (double const x : v) least = std::min(least, a.sign * x);
        if (least < lower - 5 * r.rms / std::sqrt(static_cast<double>(2 * smooth + 1)) -
                        1e-4 * std::abs(lower))
            return true;
    }
    double const from = a.candidate.t, to = b.candidate.t;
    CurvatureFilter const filter(scale, s.dt);
    double const sd = s.fast * filter.white_gain();
    auto const bend = [&](double t) { return a.sign * filter.at(s.y, s.index(t)); };
    double const lower = std::min(bend(from), bend(to));
    if (lower < 5.5 * sd) return false;
    double least = INFINITY;
    for (int k = 1; k < 16; ++k) least = std::min(least, bend(from + (to - from) * k / 16.0));
    return least < -3 * sd && least < -0.02 * lower;
}

}  // namespace

std::vector<Region> chosen_peaks(Survey const& s,
                                 Regions const& so_far,
                                 std::span<Candidate const> found,
                                 bool strict) {
    std::vector<Region> chosen;
    for (auto const& c : found) {
        Region r{c, c.response < 0 ? -1.0 : 1.0};
        // Every peak has a dip in its curvature on either side: until the background is settled
        // only a dip that stands alone can be told from those.
        bool const beside_a_peak =
            std::any_of(found.begin(), found.end(), [&](Candidate const& other) {
                return other.response > 0 &&
                       std::abs(other.t - c.t) < 5 * std::max(other.scale_s, c.scale_s);
            });
        if (!strict && r.sign < 0 && beside_a_peak) continue;
        if (!keep(s, so_far, r, strict)) continue;
        // One top, one peak; and two tops of one sign need a dip between them. The clearer one
        // stays.
        bool stays = true;
        while (!chosen.empty()) {
            auto const& before = chosen.back();
            if (r.top > before.top && (r.sign != before.sign || c.rides || before.candidate.rides ||
                                       parted(s, so_far, before, r)))
                break;
            stays = before.shoulder != r.shoulder ? before.shoulder
                                                  : c.significance > before.candidate.significance;
            if (!stays) break;
            chosen.pop_back();
        }
        if (stays) chosen.push_back(r);
    }
    return chosen;
}

namespace {

// Every shape that a linear column and its cells can give is log-concave. Where the logarithm of a
// tail bends upward and then downward again another peak rides on it, with or without a top of its
// own. Answers the places, in samples of `tail`, smoothed over 2 half + 1 samples.
std::vector<std::size_t> bulges(std::span<double const> tail, std::size_t half, double noise) {
    std::vector<std::size_t> out;
    std::size_t const lag = 2 * half + 2;
    auto const bend = [&](std::size_t i) {  // in standard uncertainties
        double const a = tail[i - lag], b = tail[i], c = tail[i + lag];
        if (std::min({a, b, c}) < 5 * noise) return 0.0;
        double const u = noise * std::sqrt(1 / (a * a) + 4 / (b * b) + 1 / (c * c));
        return (std::log(a) + std::log(c) - 2 * std::log(b)) / u;
    };
    for (std::size_t i = 2 * lag; i + 3 * lag < tail.size(); ++i) {
        if (bend(i) < 6) continue;
        std::size_t upward = i;
        while (upward + 1 + lag < tail.size() && bend(upward + 1) >= bend(upward)) ++upward;
        std::size_t downward = upward;
        double lowest = 0;
        for (std::size_t k = upward + 1; k < std::min(upward + 5 * lag, tail.size() - lag); ++k)
            if (double const b = bend(k); b < lowest) lowest = b, downward = k;
        i = std::max(i, upward + lag);
        if (lowest > -6) continue;
        // What stands above the tail as it came, where the rider is; and no longer a while after.
        std::size_t const came = upward - lag;  // before the rider shows
        double const slope = std::log(tail[came] / tail[came - lag]) / static_cast<double>(lag);
        if (!(slope < 0)) continue;
        auto const above = [&](std::size_t k) {
            return tail[k] - tail[came] * std::exp(slope * static_cast<double>(k - came));
        };
        std::size_t const after = std::min(downward + 3 * lag, tail.size() - 1);
        double const most = above(downward);
        // A rider rises and goes again; a slow share of the peak itself only goes.
        if (most > 7 * noise && above(upward) < 0.6 * most && above(after) < 0.5 * most)
            out.push_back(downward);
        i = std::max(i, downward);
    }
    return out;
}

}  // namespace

void add_tops_on_flanks(Survey const& s, Regions const& so_far, std::vector<Candidate>& found) {
    for (auto const& p : so_far.peaks) {
        if (p.sign < 0 || p.last < p.first + 16) continue;
        std::vector<double> const flank(
            so_far.above.begin() + static_cast<std::ptrdiff_t>(p.first),
            so_far.above.begin() + static_cast<std::ptrdiff_t>(std::min(p.last, s.y.size())));
        double const narrowest = s.options.narrowest_half_width_s / half_width_of_sigma;
        for (double scale = narrowest; scale < s.options.widest_half_width_s / half_width_of_sigma;
             scale *= 2) {
            auto const half = static_cast<std::size_t>(0.6 * scale / s.dt);
            if (flank.size() < 8 * half + 8) break;
            auto const quiet = moving_mean(flank, half);
            double const noise = so_far.rms / std::sqrt(static_cast<double>(2 * half + 1));
            std::size_t const top = p.top - p.first;
            auto const tail = std::span<double const>(quiet).subspan(std::min(top, quiet.size()));
            auto const add = [&](std::size_t i, bool rides) {
                double const t = s.time(p.first + i);
                bool const known = std::any_of(found.begin(), found.end(), [&](Candidate const& c) {
                    return c.response > 0 && std::abs(c.t - t) < 1.3 * std::max(scale, c.scale_s);
                });
                if (!known && i > half && i + half + 1 < quiet.size())
                    found.push_back({t, scale, quiet[i], quiet[i] / noise, false, rides});
            };
            for (std::size_t const i :
                 persistent_tops(quiet, 1, 5 * noise, std::max(7 * noise, 2 * s.grain)))
                add(i, false);
            // Coarser means than the peak itself would show its own top in its tail.
            if (static_cast<double>(2 * half + 2) * s.dt < 0.6 * p.width_s)
                for (std::size_t const i : bulges(tail, half, std::max(noise, s.grain)))
                    add(top + i, true);
        }
    }
    std::sort(found.begin(), found.end(), [](Candidate const& a, Candidate const& b) {
        return a.t < b.t;
    });
}

}  // namespace gw::trace
