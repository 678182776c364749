#include "trace/disturbance.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "trace/kick_fit.hpp"
#include "trace/onset.hpp"

namespace gw::trace {

namespace {

std::size_t samples(double seconds, double dt) {
    return static_cast<std::size_t>(std::max(1.0, std::round(seconds / dt)));
}

void take_off(std::span<double> y, std::size_t at, KickShape const& kick, double sign = 1) {
    double const longest = std::max(kick.decay, kick.lag);
    for (std::size_t i = at;
         i < std::min(y.size(), at + static_cast<std::size_t>(20 * longest) + 2);
         ++i)
        y[i] -= sign * kick.at(static_cast<double>(i - at));
    if (kick.step != 0)
        for (std::size_t i = at; i < y.size(); ++i) y[i] -= sign * kick.step;
}

struct Spike {
    double chi = std::numeric_limits<double>::infinity();
    std::size_t samples = 0;
};

// Gone within less than a peak's width, and both flanks agree on one curve.
Spike spike_at(
    std::span<double const> y, std::size_t at, double dt, double noise, double narrowest_s) {
    Spike best;
    for (double const width : {0.12, 0.2, 0.3, 0.45, 0.6}) {
        if (width > 1.5 * narrowest_s) break;
        std::size_t const before = std::max<std::size_t>(samples(0.6, dt), 4),
                          gap = samples(width, dt);
        KickWindow const w{
            at > before ? at - before : 0, at, std::min(at + gap + before, y.size()), gap};
        double const chi = smooth_chi(y, w, 2, noise);
        if (chi < best.chi) best = {chi, gap};
        if (chi < 1.6) break;
    }
    return best;
}

struct Found {
    Disturbance is;
    std::size_t at{};
    KickShape shape;
    double jump = std::numeric_limits<double>::infinity();  // seen at its onset
};

double lifetime(KickShape const& s, double noise, double dt) {
    double const size = std::abs(s.amplitude) + std::abs(s.lag_amplitude);
    return std::log(std::max(2.0, size / noise)) * std::max(s.decay, s.lag) * dt;
}

// Largest departure of the kick, without its step.
double height_of(KickShape const& s) {
    double largest = s.at(0);
    if (s.lag > 0)
        for (double i = 0; i < 3 * s.decay; i += 0.1 * s.lag)
            if (std::abs(s.at(i)) > std::abs(largest)) largest = s.at(i);
    return largest;
}

// No kick is much larger than the signal it leaves: two large terms that cancel are a curve.
bool plausible(std::span<double const> y, std::size_t at, KickShape const& kick, double dt) {
    std::size_t const from = at > samples(0.3, dt) ? at - samples(0.3, dt) : 0,
                      to = std::min(y.size(), at + samples(2, dt));
    auto const [low, high] = std::minmax_element(y.begin() + static_cast<std::ptrdiff_t>(from),
                                                 y.begin() + static_cast<std::ptrdiff_t>(to));
    double const room = 2.5 * (*high - *low);
    return std::abs(kick.amplitude) < (kick.lag > 0 ? 2 : 1) * room && std::abs(kick.step) < room;
}

// Whether a peak on a straight line is as good a description of what follows `at`.
bool is_peak(std::span<double const> y,
             std::size_t at,
             double chi_kick,
             double dt,
             double noise,
             double narrowest_s) {
    std::size_t const before = std::max<std::size_t>(samples(0.8, dt), 5);
    double const least_sigma = 0.85 * narrowest_s / 2.3548 / dt;
    for (double const after_s : {3.0, 1.6}) {
        KickWindow const w{at > before ? at - before : 0,
                           at,
                           std::min(at + std::max<std::size_t>(samples(after_s, dt), 8), y.size()),
                           0};
        std::size_t top = w.at;
        for (std::size_t i = w.at; i < w.to; ++i)
            if (std::abs(y[i] - y[w.from]) > std::abs(y[top] - y[w.from])) top = i;
        double const sigma = std::max(least_sigma, 0.5 * static_cast<double>(top - w.at));
        double const chi = peak_chi(
            y, w, {1, static_cast<double>(top - w.from), sigma, 0.4 * sigma}, least_sigma, noise);
        if (chi < std::min(chi_kick, kick_in(y, w, dt, noise).chi)) return true;
    }
    return false;
}

// Whether the signal falls faster behind `at` than the flank before it would by itself: a peak's
// logarithm bends evenly, so that three points before tell the fourth.
bool breaks_its_flank(
    std::span<double const> y, std::size_t at, double low, double stood, double dt) {
    std::size_t const arm = std::max<std::size_t>(1, samples(0.04, dt));
    auto const over = [&](std::size_t middle) {
        double sum = 0;
        for (std::size_t i = middle - arm; i < middle + arm; ++i) sum += y[i];
        return sum / static_cast<double>(2 * arm) - low;
    };
    for (double const apart_s : {0.35, 0.2}) {
        std::size_t const h = std::max(2 * arm, samples(apart_s, dt));
        if (at < 2 * h + 3 * arm || at + h + arm >= y.size()) continue;
        double const now = over(at - arm), before = over(at - arm - h),
                     earlier = over(at - arm - 2 * h);
        if (!(now > 0 && before > 0 && earlier > 0.1 * stood)) continue;
        double const expected = std::pow(now / before, 3) * earlier;
        return over(at - arm + h) < 0.6 * std::min(expected, now);
    }
    return true;  // too narrow to tell
}

// A valve that cuts a peak: the signal falls from well above to the level it had before the peak,
// and stays there.
bool cuts_a_back(std::span<double const> y, Onset const& onset, double dt, double noise) {
    if (onset.at < samples(3, dt) || onset.at + samples(1.6, dt) >= y.size()) return false;
    auto const mean = [&](std::size_t from, std::size_t to) {
        double sum = 0;
        for (std::size_t i = from; i < to; ++i) sum += y[i];
        return sum / static_cast<double>(to - from);
    };
    std::size_t const at = onset.at, arm = std::max<std::size_t>(1, samples(0.06, dt));
    // An onset is seen some samples early or late.
    double const before = std::max(mean(at - arm, at), mean(at - 3 * arm, at - 2 * arm)),
                 after = mean(at + samples(0.5, dt), at + samples(1, dt)),
                 later = mean(at + samples(1, dt), at + samples(1.6, dt));
    std::size_t const past = std::min(at, samples(30, dt));
    std::vector<double> earlier(y.begin() + static_cast<std::ptrdiff_t>(at - past),
                                y.begin() + static_cast<std::ptrdiff_t>(at));
    auto const low = earlier.begin() + static_cast<std::ptrdiff_t>(earlier.size() / 4);
    std::nth_element(earlier.begin(), low, earlier.end());
    double const stood = before - *low;
    // What goes through that level and comes back to it is a kick.
    std::size_t const soon = at + samples(0.5, dt);
    double deepest = mean(at, at + arm);
    for (std::size_t i = at; i + arm <= soon; ++i) deepest = std::min(deepest, mean(i, i + arm));
    if (deepest < *low - 0.2 * stood - 4 * noise) return false;
    return stood > 10 * noise && std::abs(after - *low) < 0.15 * stood &&
           std::abs(later - *low) < 0.1 * stood + 2 * noise &&
           breaks_its_flank(y, at, *low, stood, dt);
}

// The other way about: from the level it was on, the signal jumps to a flank that goes on rising
// for longer than a kick does, to a top well above the jump.
bool cuts_a_front(std::span<double const> y, Onset const& onset, double dt, double noise) {
    if (onset.at < samples(1.6, dt) || onset.at + samples(3, dt) >= y.size()) return false;
    auto const mean = [&](double from_s, double to_s) {
        auto const from = static_cast<std::ptrdiff_t>(std::floor(from_s / dt)),
                   to = std::max(from + 1, static_cast<std::ptrdiff_t>(std::floor(to_s / dt)));
        double sum = 0;
        for (auto i = from; i < to; ++i)
            sum += y[static_cast<std::size_t>(static_cast<std::ptrdiff_t>(onset.at) + i)];
        return sum / static_cast<double>(to - from);
    };
    double const level = mean(-0.5, -0.1), earlier = mean(-1.5, -0.6);
    double const jumped = mean(0.25, 0.35) - level, risen = mean(0.5, 0.6) - level,
                 later = mean(0.75, 0.85) - level;
    return jumped > 10 * noise && std::abs(level - earlier) < 0.05 * jumped + 2 * noise &&
           risen > 1.06 * jumped + 3 * noise && later > 1.04 * risen + 2 * noise;
}

bool cuts_a_peak(std::span<double const> y, Onset const& onset, double dt, double noise) {
    return onset.known && (cuts_a_back(y, onset, dt, noise) || cuts_a_front(y, onset, dt, noise));
}

// Kicks first seen alone are fitted again, each on all the signal up to its neighbours; known
// events without an onset may still have left a step.
void refine(
    std::span<double> y, std::vector<Found>& found, double start_s, double dt, double noise) {
    for (std::size_t k = 0; k < found.size(); ++k) {
        auto& f = found[k];
        std::size_t const low = k == 0 ? 0 : found[k - 1].at + samples(0.1, dt),
                          high = k + 1 < found.size() ? found[k + 1].at : y.size();
        if (f.at < low || high <= f.at) continue;
        auto const better = refined_kick(y, f.at, low, high, f.shape, dt, noise, f.jump);
        f.is.step_u = better.step_u;
        if (!std::isfinite(better.chi)) continue;
        KickShape old = f.shape;
        old.step = 0;
        take_off(y, f.at, old, -1);  // plausible is told from the signal with its kick
        if (!plausible(y, f.at, better.shape, dt)) {
            take_off(y, f.at, old);
            continue;
        }
        take_off(y, f.at, better.shape);
        double const step = f.shape.step + better.shape.step;
        f.shape = better.shape;
        f.shape.step = step;
        f.is.step = step;
        if (f.shape.decay > 0) {
            f.is.height = height_of(f.shape);
            f.is.end_s = start_s + static_cast<double>(f.at) * dt + lifetime(f.shape, noise, dt);
        }
    }
}

}  // namespace

BreaksOff breaks_off(std::span<double const> y, std::size_t at, double interval_s, double noise) {
    Onset const here{at, 0, true};
    if (cuts_a_back(y, here, interval_s, noise)) return BreaksOff::back;
    return cuts_a_front(y, here, interval_s, noise) ? BreaksOff::front : BreaksOff::no;
}

std::vector<Disturbance> remove_disturbances(std::span<double> y,
                                             double start_s,
                                             double dt,
                                             double noise,
                                             std::span<SignalEvent const> events,
                                             double narrowest_s,
                                             std::span<std::size_t const> suspects) {
    std::vector<Found> found;
    std::vector<std::size_t> settled;  // onsets looked at, so that none is met twice
    for (int round = 0; round < 60; ++round) {
        auto const all = onsets(y, start_s, dt, noise, events);
        Onset onset;
        for (auto const& o : all) {
            bool const seen = std::any_of(settled.begin(), settled.end(), [&](std::size_t s) {
                return o.at + samples(0.3, dt) > s && o.at < s + samples(0.3, dt);
            });
            if (!seen && std::abs(o.jump) > std::abs(onset.jump)) onset = o;
        }
        if (onset.jump == 0) break;
        if (cuts_a_peak(y, onset, dt, noise)) {
            settled.push_back(onset.at);
            continue;
        }
        std::size_t const at =
            first_disturbed(y, onset, std::max<std::size_t>(samples(0.16, dt), 4), noise);
        settled.push_back(onset.at);
        auto const spike = spike_at(y, at, dt, noise, narrowest_s);
        // Another one close by bounds what this one is told from.
        std::size_t low = 0, high = y.size();
        for (auto const& o : all) {
            if (o.at + samples(0.2, dt) < at) low = o.at + samples(0.1, dt);
            if (o.at > at + samples(0.3, dt)) high = std::min(high, o.at - samples(0.1, dt));
        }
        auto const kick = best_kick(y, at, low, high, dt, noise, onset.known ? std::abs(onset.jump) : INFINITY);
        Found f{{start_s + static_cast<double>(at) * dt, 0, onset.jump, 0, 0, onset.known, false},
                at,
                {},
                std::abs(onset.jump)};
        double const height = height_of(kick.shape);
        double const tolerated = std::max(4.0, 0.02 * std::pow(height / noise, 2));
        if (spike.chi < 3 && spike.chi < 0.8 * kick.chi) {
            bridge(y, at, std::min(at + spike.samples, y.size()), samples(0.6, dt));
            f.is.end_s = f.is.at_s + static_cast<double>(spike.samples) * dt;
        } else if (kick.chi < tolerated && (height + kick.shape.step) * onset.jump > 0 &&
                   plausible(y, at, kick.shape, dt) &&
                   !is_peak(y, at, kick.chi, dt, noise, narrowest_s)) {
            f.is.removed = true;
            f.is.height = height;
            f.is.step = kick.shape.step;
            f.shape = kick.shape;
            f.is.end_s = f.is.at_s + lifetime(kick.shape, noise, dt);
            take_off(y, at, kick.shape);
            if (kick.shape.lag == 0)
                bridge(y, at, std::min(at + samples(0.06, dt), y.size()), samples(0.4, dt));
        } else {
            continue;  // sudden, but no valve's shape: a cut peak or a fault, left as it is
        }
        found.push_back(f);
    }
    auto const at_a_cut = [&](std::size_t at) {
        return std::any_of(events.begin(), events.end(), [&](SignalEvent const& e) {
            double const there = std::ceil((e.at_s - start_s) / dt - 1e-9);
            return std::abs(there - static_cast<double>(at)) * dt < 0.3 && there > 0 &&
                   there < static_cast<double>(y.size()) &&
                   breaks_off(y, static_cast<std::size_t>(there), dt, noise) != BreaksOff::no;
        });
    };
    for (std::size_t const at : suspects) {
        if (at_a_cut(at)) continue;
        if (std::any_of(found.begin(), found.end(), [&](Found const& f) {
                return f.at + samples(0.1, dt) > at && f.at < at + samples(0.1, dt);
            }))
            continue;
        auto const kick = best_kick(y, at, 0, y.size(), dt, noise);
        if (kick.chi > 2 || !plausible(y, at, kick.shape, dt)) continue;
        Found f{{start_s + static_cast<double>(at) * dt,
                 0,
                 height_of(kick.shape),
                 kick.shape.step,
                 0,
                 false,
                 true},
                at,
                kick.shape};
        f.is.end_s = f.is.at_s + lifetime(kick.shape, noise, dt);
        take_off(y, at, kick.shape);
        found.push_back(f);
    }
    for (auto const& e : events) {
        bool const seen = std::any_of(found.begin(), found.end(), [&](Found const& f) {
            return std::abs(f.is.at_s - e.at_s) < 0.6;
        });
        double const at = std::ceil((e.at_s - start_s) / dt - 1e-9);
        if (seen || at < 8 || at + 8 > static_cast<double>(y.size())) continue;
        Onset const here{static_cast<std::size_t>(at), 0, true};
        if (cuts_a_peak(y, here, dt, noise)) continue;
        Found f{{e.at_s, e.at_s, 0, 0, 0, true, false}, static_cast<std::size_t>(at), {}};
        // Too weak for a sudden onset, or a step that hides it: here the time is known.
        std::size_t low = 0, high = y.size();
        for (auto const& other : events) {
            double const there = std::ceil((other.at_s - start_s) / dt - 1e-9);
            if (there < at - 4)
                low = std::max(low,
                               static_cast<std::size_t>(std::max(0.0, there)) + samples(0.6, dt));
            if (there > at + 4) high = std::min(high, static_cast<std::size_t>(there));
        }
        auto const kick = known_kick(y, f.at, std::min(low, f.at), high, dt, noise);
        if (std::isfinite(kick.chi) && plausible(y, f.at, kick.shape, dt) &&
            !is_peak(y, f.at, kick.chi, dt, noise, narrowest_s)) {
            f.shape = kick.shape;
            f.is.removed = true, f.is.height = height_of(kick.shape), f.is.step = kick.shape.step;
            f.is.end_s = f.is.at_s + lifetime(kick.shape, noise, dt);
            take_off(y, f.at, f.shape);
        }
        found.push_back(f);
    }
    std::sort(
        found.begin(), found.end(), [](Found const& a, Found const& b) { return a.at < b.at; });
    refine(y, found, start_s, dt, noise);
    std::vector<Disturbance> out;
    for (auto& f : found) {
        f.is.shape = f.shape;
        if (f.is.height != 0 || f.is.step != 0) out.push_back(f.is);
    }
    return out;
}

}  // namespace gw::trace
