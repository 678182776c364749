#include "trace/peak_regions.hpp"

#include <array>

#include "trace/area_noise.hpp"
#include "trace/noise.hpp"
#include "trace/region_bounds.hpp"
#include "trace/region_choice.hpp"

namespace gw::trace {

namespace {

void occupy(std::vector<bool>& free, std::size_t from, std::size_t to) {
    for (std::size_t i = from; i < std::min(to, free.size()); ++i) free[i] = false;
}

std::vector<bool> undisturbed(Survey const& s) {
    std::vector<bool> free(s.y.size(), true);
    for (auto const& d : s.disturbances) occupy(free, s.index(d.at_s - 0.1), s.index(d.end_s) + 1);
    for (auto const& g : s.gaps) occupy(free, g.first, g.last + 1);
    return free;
}

// A dip, not the hollow that the curvature shows on either side of a peak.
bool is_dip(Candidate const& c, std::span<Candidate const> found) {
    return c.response < 0 && std::none_of(found.begin(), found.end(), [&](Candidate const& other) {
               return other.response > 0.9 * -c.response &&
                      std::abs(other.t - c.t) < 4 * std::max(c.scale_s, other.scale_s);
           });
}

// Before bounds are known: what a peak of each candidate's scale would cover.
std::vector<bool> free_of(Survey const& s, std::span<Candidate const> found) {
    auto free = undisturbed(s);
    for (auto const& c : found)
        if (c.response > 0 || is_dip(c, found))
            occupy(free, s.index(c.t - 5 * c.scale_s), s.index(c.t + 9 * c.scale_s) + 1);
    return free;
}

std::vector<bool> free_of(Survey const& s, std::span<Region const> peaks) {
    auto free = undisturbed(s);
    for (auto const& p : peaks) {
        // An open end never takes the whole run, however far a bad first background let it wander;
        // a border with a neighbour is no background, unless the flanks of both are over before
        // they get there: then the background runs too low.
        double const t = s.time(p.top);
        std::size_t const first = std::max(
            p.first, s.index(t - (p.joined_before || p.first == 0 ? p.front_s : 4 * p.width_s)));
        std::size_t const last = std::min(
            p.last,
            s.index(t + (p.joined_after || p.last == s.y.size() ? p.back_s : 7 * p.width_s)) + 1);
        occupy(free, first, last);
    }
    return free;
}

// How much more the means over a block scatter about the background than the fast noise says: 1
// when nothing slow is left.
double slow_scatter(Survey const& s,
                    std::vector<bool> const& free,
                    std::vector<double> const& level) {
    auto const block = std::max<std::size_t>(4, static_cast<std::size_t>(2 / s.dt));
    double squares = 0;
    std::size_t blocks = 0;
    for (std::size_t i = 0; i + block <= s.y.size(); i += block) {
        double sum = 0, count = 0;
        for (std::size_t k = i; k < i + block; ++k)
            if (free[k]) sum += s.y[k] - level[k], count += 1;
        if (count < 0.5 * static_cast<double>(block)) continue;
        double const z = sum / (std::sqrt(count) * s.fast);
        squares += std::min(z * z, 25.0), ++blocks;
    }
    return blocks < 6 ? 1 : squares / static_cast<double>(blocks);
}

std::vector<double> lasting_steps(Survey const& s) {
    std::vector<double> out;
    for (auto const& d : s.disturbances)
        if (d.step != 0) out.push_back(d.at_s);
    return out;
}

void stand_on_ground(Survey const& s, Regions& r) {
    r.above.resize(s.y.size());
    for (std::size_t i = 0; i < s.y.size(); ++i) r.above[i] = s.y[i] - r.ground.level[i];
    std::vector<double> quiet;
    for (std::size_t i = 0; i < s.y.size(); ++i)
        if (r.free[i]) quiet.push_back(r.above[i]);
    r.rms = quiet.size() >= 100
                ? std::max({robust_sd(std::move(quiet)), s.fast * 0.5, s.grain / std::sqrt(12.0)})
                : s.fast;
}

// In s: from waves that nothing but a broken line follows to those of half a minute.
constexpr std::array<double, 4> stiffnesses{240.0, 110.0, 55.0, 28.0};

// Known events at which no step was seen: one may lie hidden under a peak.
std::vector<double> silent_events(Survey const& s, std::vector<double> const& seen) {
    std::vector<double> out;
    for (auto const& e : s.options.events) {
        double const from = e.at_s - s.start_s, to = s.time(s.y.size() - 1) - e.at_s;
        if (from > 2 && to > 2 && std::none_of(seen.begin(), seen.end(), [&](double t) {
                return std::abs(t - e.at_s) < 0.6;
            }))
            out.push_back(e.at_s);
    }
    return out;
}

// The same line with steps at silent events, those only that stand out.
Background with_hidden_steps(Survey const& s,
                             std::vector<bool> const& free,
                             double stiffness,
                             std::vector<double> const& seen) {
    auto steps = seen;
    for (double const t : silent_events(s, seen)) steps.push_back(t);
    auto out = background(s.y, free, s.start_s, s.dt, {stiffness, steps});
    for (int round = 0; round < 8 && steps.size() > seen.size(); ++round) {
        auto weakest = steps.end();
        double least = 6;
        for (auto t = steps.begin() + static_cast<std::ptrdiff_t>(seen.size()); t != steps.end();
             ++t) {
            auto const told =
                std::find_if(out.steps.begin(), out.steps.end(), [&](LevelStep const& l) {
                    return std::abs(s.time(l.at) - *t) < 1.5 * s.dt;
                });
            double const size = told == out.steps.end()
                                    ? 0
                                    : std::abs(told->value) / (s.fast * std::max(told->u, 1e-12));
            if (size < least) least = size, weakest = t;
        }
        if (weakest == steps.end()) break;
        steps.erase(weakest);
        out = background(s.y, free, s.start_s, s.dt, {stiffness, steps});
    }
    return out;
}

void lay_background(Survey const& s, std::vector<bool> const& free, Regions& r) {
    auto const steps_s = lasting_steps(s);
    bool const silent = !silent_events(s, steps_s).empty();
    // The stiffest line that leaves no slow waves behind.
    r.free = free;
    for (double const stiffness : stiffnesses) {
        r.ground = background(s.y, r.free, s.start_s, s.dt, {stiffness, steps_s});
        r.slow_scatter = std::max(1.0, slow_scatter(s, r.free, r.ground.level));
        if (r.slow_scatter < 2.5) break;
        if (!silent) continue;
        auto stepped = with_hidden_steps(s, r.free, stiffness, steps_s);
        double const left = std::max(1.0, slow_scatter(s, r.free, stepped.level));
        if (left >= 0.7 * r.slow_scatter) continue;
        r.ground = std::move(stepped), r.slow_scatter = left;
        if (left < 2.5) break;
    }
    stand_on_ground(s, r);
}

void measure_shapes(Survey const& s, Regions& r) {
    std::vector<Region> kept;
    for (auto& p : r.peaks) {
        auto const smooth = quiet_half(half_width_of_sigma * p.candidate.scale_s, s.dt) / 2;
        bool const quiet = std::abs(r.above[p.top]) > 200 * r.rms;
        p.shape = peak_shape(
            r.above, p.first, p.last, p.top, p.sign, s.start_s, s.dt, quiet ? 0 : smooth);
        if (p.shoulder) {  // the flank it sits on hides its shape: what the curvature says must do
            p.shape = {
                p.candidate.t, p.candidate.response, half_width_of_sigma * p.candidate.scale_s};
            p.shape.front_half_s = 0.5 * p.shape.width_half_s;
        }
        bool const narrow = p.shape.width_half_s < 0.6 * s.options.narrowest_half_width_s;
        bool const wide = p.shape.width_half_s > 1.4 * s.options.widest_half_width_s;
        if (!narrow && !wide) kept.push_back(p);
    }
    r.peaks = std::move(kept);
}

}  // namespace

namespace {

std::vector<Candidate> candidates_of(Survey const& s) {
    CandidateOptions search;
    search.noise = s.fast;
    search.least = 2 * s.grain;
    search.narrowest_s = 0.85 * s.options.narrowest_half_width_s / half_width_of_sigma;
    search.widest_s = s.options.widest_half_width_s / half_width_of_sigma;
    return candidates(s.y, s.start_s, s.dt, search);
}

}  // namespace

Regions settle_regions(Survey const& s) {
    auto found = candidates_of(s);
    Regions r;
    for (int pass = 0; pass < 4; ++pass) {
        lay_background(s, pass == 0 ? free_of(s, found) : free_of(s, r.peaks), r);
        if (pass == 2) add_tops_on_flanks(s, r, found);
        r.peaks = chosen_peaks(s, r, found, pass >= 2);
        bound_peaks(s, r);
    }
    measure_shapes(s, r);
    return r;
}

void settle_peaks(Survey const& s, Regions& r) {
    auto found = candidates_of(s);
    for (bool const strict : {false, true}) {
        if (strict) add_tops_on_flanks(s, r, found);
        r.peaks = chosen_peaks(s, r, found, strict);
        bound_peaks(s, r);
    }
    measure_shapes(s, r);
}

void settle_ground(Survey const& s, Regions& r) {
    auto const steps_s = lasting_steps(s);
    std::vector<std::size_t> breaks;
    breaks.reserve(steps_s.size());
    for (double const t : steps_s) breaks.push_back(s.index(t));
    r.spectrum = noise_spectrum(s.y, r.free, s.dt, breaks);
    r.rounding = 0;
    if (s.grain > 0) {
        // Third differences of what was rounded: the noise with the rounding's own q^2/12.
        double sum = 0, count = 0;
        for (std::size_t i = 0; i + 3 < s.y.size(); ++i)
            if (r.free[i] && r.free[i + 3]) {
                double const d = s.y[i + 3] - 3 * s.y[i + 2] + 3 * s.y[i + 1] - s.y[i];
                sum += std::min(d * d, 400 * s.grain * s.grain), count += 1;
            }
        double const rounded = count > 0 ? sum / (20 * count) : 0,
                     noise = rounded - s.grain * s.grain / 12;
        r.rounding = rounding_of_mean(s.grain, std::sqrt(std::max(0.0, noise)));
    }
}

}  // namespace gw::trace
