#include "trace/kicks_under_peaks.hpp"

#include "trace/cluster_fit.hpp"
#include "trace/clusters.hpp"

namespace gw::trace {

namespace {

void put_on(std::vector<double>& y, std::size_t at, KickShape const& kick, double sign) {
    for (std::size_t i = at; i < y.size(); ++i)
        y[i] += sign * (kick.at(static_cast<double>(i - at)) + kick.step);
}

struct Window {
    std::size_t first{}, last{};
};

// The cluster and what the kick still disturbs after it, but not the next cluster.
Window window_of(
    Survey const& s, Regions const& r, Cluster const& c, double onset_s, double end_s) {
    std::size_t first = r.peaks[c.first].first, last = r.peaks[c.last - 1].last;
    first = std::min(first, s.index(onset_s - 1));
    last = std::max(last, s.index(end_s) + 1);
    if (c.first > 0) first = std::max(first, r.peaks[c.first - 1].last);
    if (c.last < r.peaks.size()) last = std::min(last, r.peaks[c.last].first);
    return {first, last};
}

bool touches(Survey const& s, Regions const& r, Cluster const& c, double onset_s, double end_s) {
    double const first = s.time(r.peaks[c.first].first), last = s.time(r.peaks[c.last - 1].last);
    return onset_s < last && end_s > first;
}

// Whether what the shapes leave over jumps at `at`: what is left of a shape that does not quite fit
// is smooth.
bool jumps(std::vector<double> const& signal,
           std::vector<Emg> const& shapes,
           Survey const& s,
           Window const& w,
           std::size_t at,
           double noise) {
    auto const arm = std::max<std::size_t>(2, static_cast<std::size_t>(0.2 / s.dt));
    if (at < w.first + 2 * arm || at + 2 * arm > w.last) return false;
    auto const mean = [&](std::size_t from) {
        double sum = 0;
        for (std::size_t i = from; i < from + arm; ++i) {
            sum += signal[i - w.first];
            for (auto const& shape : shapes) sum -= value(shape, s.time(i));
        }
        return sum / static_cast<double>(arm);
    };
    double const across = std::abs(mean(at) - mean(at - arm)),
                 usual = std::max(std::abs(mean(at - arm) - mean(at - 2 * arm)),
                                  std::abs(mean(at + arm) - mean(at)));
    return across > 6 * noise * std::sqrt(2 / static_cast<double>(arm)) && across > 1.5 * usual;
}

struct Settled {
    KickShape shape;
    double gain = 0;  // of the weighted sum of squares, against the kick as it was
    bool believed = false;
};

Settled fitted_with_peaks(Survey const& s,
                          Regions const& r,
                          Cluster const& c,
                          Window const& w,
                          std::size_t at,
                          KickShape const& known) {
    Settled out;
    bool const upward = std::all_of(r.peaks.begin() + static_cast<std::ptrdiff_t>(c.first),
                                    r.peaks.begin() + static_cast<std::ptrdiff_t>(c.last),
                                    [](Region const& p) { return p.sign > 0; });
    if (!upward || c.last - c.first > 12 || at < w.first + 3 || at + 6 > w.last) return out;
    std::vector<double> signal(r.above.begin() + static_cast<std::ptrdiff_t>(w.first),
                               r.above.begin() + static_cast<std::ptrdiff_t>(w.last));
    KickShape guess = known;
    bool const seen = known.decay > 0;
    if (!seen) guess.decay = 0.4 / s.dt;
    if (seen)
        for (std::size_t i = at; i < w.last; ++i)
            signal[i - w.first] += known.at(static_cast<double>(i - at)) + known.step;
    double const noise = std::max(r.rms, s.fast);
    auto const start = first_shapes(s, r, c);
    auto const fitted = [&](bool step, double wanted) {
        ClusterFitOptions with;
        with.wanted = wanted;
        with.kick = KickGuess{at - w.first, guess, step};
        if (!step) with.kick->shape.step = 0;
        return fit_cluster(signal, s.time(w.first), s.dt, noise, start, with);
    };
    auto const gain = [](ClusterFit const& from, ClusterFit const& to) {
        return static_cast<double>(from.samples) * (from.misfit - to.misfit) /
               std::max(1.0, to.misfit);
    };
    // The kick as it was, held.
    std::vector<double> less = signal;
    for (std::size_t i = at; seen && i < w.last; ++i)
        less[i - w.first] -= known.at(static_cast<double>(i - at)) + known.step;
    ClusterFitOptions held;
    held.kick = KickGuess{at - w.first, guess, false, false};
    auto const as_was = fit_cluster(less, s.time(w.first), s.dt, noise, start, held);
    bool const jumped = seen || jumps(less, as_was.peaks, s, w, at, noise);
    if (!jumped && !(as_was.misfit > 12)) return out;
    // On a top nothing shows a jump. There only a kick without which nothing fits, and with which
    // all does, is believed.
    constexpr double all_but = 12;
    double const wanted =
        jumped ? INFINITY : as_was.misfit / all_but * static_cast<double>(as_was.samples);
    auto const plain = fitted(false, wanted), stepped = fitted(true, wanted);
    // What stays must show: over a short stretch a step, a slow decay and a peak's tail look alike.
    auto const& fit =
        stepped.converged && (!plain.converged || gain(plain, stepped) > 25) ? stepped : plain;
    if (!fit.converged || !comes_at_once(fit.kick, s.dt, noise)) return out;
    if (!jumped && !(as_was.misfit > all_but * std::max(1.0, fit.misfit) &&
                     std::abs(fit.kick.at(0)) > 12 * noise))
        return out;
    out.shape = fit.kick;
    out.gain = gain(as_was, fit);
    out.believed = *std::max_element(fit.departure.begin(), fit.departure.end()) < 0.03;
    return out;
}

}  // namespace

bool settle_kicks_under_peaks(Survey const& s,
                              Regions const& r,
                              std::vector<double>& y,
                              std::vector<Disturbance>& disturbances) {
    bool moved = false;
    auto const groups = clusters(r.peaks);
    auto const settle = [&](Disturbance& d) {
        for (auto const& c : groups) {
            if (!touches(s, r, c, d.at_s, std::max(d.end_s, d.at_s + 0.5))) continue;
            double const end_s = std::max(d.end_s, d.at_s + 1.5);
            auto const w = window_of(s, r, c, d.at_s, end_s);
            std::size_t const at = s.index(d.at_s);
            auto const found = fitted_with_peaks(s, r, c, w, at, d.shape);
            if (!found.believed || found.gain < (d.shape.decay > 0 ? 12 : 40)) return;
            // Of a step alone the kick is still to come; the step stays taken off.
            double const before = d.shape.decay > 0 ? 0 : d.step;
            if (d.shape.decay > 0) put_on(y, at, d.shape, 1);
            put_on(y, at, found.shape, -1);
            d.shape = found.shape;
            d.step = d.shape.step = before + found.shape.step;
            d.height = found.shape.at(0);
            d.removed = true;
            d.end_s =
                d.at_s + s.dt * found.shape.decay *
                             std::log(std::max(2.0, std::abs(found.shape.amplitude) / s.fast));
            moved = true;
            return;
        }
    };
    for (auto& d : disturbances)
        if (d.removed || (d.known && d.height == 0)) settle(d);
    std::vector<Disturbance> unseen;
    for (auto const& event : s.options.events) {
        double const first = std::ceil((event.at_s - s.start_s) / s.dt - 1e-9);
        bool const seen =
            std::any_of(disturbances.begin(), disturbances.end(), [&](Disturbance const& d) {
                return std::abs(d.at_s - event.at_s) < 0.6;
            });
        if (seen || first < 8 || first + 8 > static_cast<double>(y.size())) continue;
        if (breaks_off(y, static_cast<std::size_t>(first), s.dt, std::max(r.rms, s.fast)) !=
            BreaksOff::no)
            continue;
        Disturbance d;
        d.at_s = s.start_s + first * s.dt;
        d.known = true;
        settle(d);
        if (d.removed) unseen.push_back(d);
    }
    disturbances.insert(disturbances.end(), unseen.begin(), unseen.end());
    std::sort(disturbances.begin(),
              disturbances.end(),
              [](Disturbance const& a, Disturbance const& b) { return a.at_s < b.at_s; });
    return moved;
}

bool settle_steps(Survey const& s,
                  Regions const& r,
                  std::vector<double>& y,
                  std::vector<Disturbance>& disturbances) {
    bool moved = false;
    for (auto& d : disturbances) {
        if (d.step == 0) continue;
        std::size_t const at = s.index(d.at_s);
        auto const told =
            std::find_if(r.ground.steps.begin(), r.ground.steps.end(), [&](LevelStep const& l) {
                return l.at <= at + 1 && at <= l.at + 1;
            });
        if (told == r.ground.steps.end()) continue;
        double const u = r.rms * std::sqrt(r.slow_scatter) * told->u;
        if (std::abs(d.step + told->value) > 4 * u) continue;
        for (std::size_t i = at; i < y.size(); ++i) y[i] += d.step;
        d.step = d.shape.step = 0;
        moved = true;
    }
    return moved;
}

bool take_steps_under_peaks(Survey const& s,
                            Regions const& r,
                            std::vector<double>& y,
                            std::vector<Disturbance>& disturbances) {
    std::vector<Disturbance> told;
    bool moved = false;
    for (auto const& step : r.ground.steps) {
        bool const known =
            std::any_of(disturbances.begin(), disturbances.end(), [&](Disturbance const& d) {
                return d.step != 0 && std::abs(d.at_s - s.time(step.at)) < 1.5 * s.dt;
            });
        if (known) continue;
        auto const kicked =
            std::find_if(disturbances.begin(), disturbances.end(), [&](Disturbance const& d) {
                return d.known && std::abs(d.at_s - s.time(step.at)) < 0.3;
            });
        if (kicked != disturbances.end()) {  // the step of a kick that was seen
            kicked->step = kicked->shape.step = step.value;
            kicked->step_u = r.rms * std::sqrt(r.slow_scatter) * step.u;
            for (std::size_t i = s.index(kicked->at_s); i < y.size(); ++i) y[i] -= step.value;
            moved = true;
            continue;
        }
        Disturbance d;
        d.at_s = d.end_s = s.time(step.at);
        d.known = true;
        d.step = d.shape.step = step.value;
        d.step_u = r.rms * std::sqrt(r.slow_scatter) * step.u;
        told.push_back(d);
        for (std::size_t i = step.at; i < y.size(); ++i) y[i] -= step.value;
    }
    disturbances.insert(disturbances.end(), told.begin(), told.end());
    std::sort(disturbances.begin(),
              disturbances.end(),
              [](Disturbance const& a, Disturbance const& b) { return a.at_s < b.at_s; });
    return moved || !told.empty();
}

}  // namespace gw::trace
