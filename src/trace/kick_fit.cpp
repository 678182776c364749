#include "trace/kick_fit.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <vector>

#include "trace/kick_line.hpp"

namespace gw::trace {

namespace {

constexpr double none = std::numeric_limits<double>::infinity();

// The best decay time on one window: a coarse look over two decades, then a golden section in its
// logarithm.
KickFit best_decay(KickLine const& line, double dt, double lag_s, bool step) {
    KickFit best{{}, none};
    double best_s = 0;
    for (double s = std::max(0.05, 1.5 * lag_s); s < 2.6; s *= 1.5)
        if (auto const f = line.with(s / dt, lag_s / dt, step); f.chi < best.chi)
            best = f, best_s = s;
    if (best_s == 0) return best;
    double low = std::log(best_s / 1.6), high = std::log(best_s * 1.6);
    double const g = 0.6180339887498949;
    auto const at = [&](double x) { return line.with(std::exp(x) / dt, lag_s / dt, step); };
    KickFit a = at(high - g * (high - low)), b = at(low + g * (high - low));
    for (int k = 0; k < 12; ++k) {
        if (a.chi < b.chi) {
            high = low + g * (high - low), b = a, a = at(high - g * (high - low));
        } else {
            low = high - g * (high - low), a = b, b = at(low + g * (high - low));
        }
    }
    auto const& c = a.chi < b.chi ? a : b;
    return c.chi < best.chi ? c : best;
}

std::size_t samples(double seconds, double dt) {
    return static_cast<std::size_t>(std::max(1.0, std::round(seconds / dt)));
}

}  // namespace

double KickShape::at(double after) const {
    double v = 0;
    if (decay > 0) v += amplitude * std::exp(-after / decay);
    if (lag > 0) v += lag_amplitude * std::exp(-after / lag);
    return v;
}

double smooth_chi(std::span<double const> y, KickWindow const& w, int degree, double noise) {
    return KickLine(y, w, degree, noise).chi();
}

namespace {

// A slow exponential and a step that nearly cancel are a peak's flank; a valve's step comes at
// once, and of a kick the first tenth of a second shows a good part.
bool of_size(KickShape const& kick, double step, double jump, double noise) {
    return std::abs(step) < 2 * jump + 5 * noise && std::abs(kick.at(0)) < 8 * jump + 5 * noise;
}

}  // namespace

bool comes_at_once(KickShape const& kick, double interval_s, double noise) {
    double jump = 0;
    for (double i = 0; i <= 0.2 / interval_s; ++i)
        jump = std::max(jump, std::abs(kick.at(i) + kick.step));
    return of_size(kick, kick.step, jump, noise) && kick.decay * interval_s < 2.5;
}

KickFit best_kick(std::span<double const> y,
                  std::size_t at,
                  std::size_t low,
                  std::size_t high,
                  double dt,
                  double noise,
                  double jump) {
    KickFit best{{}, none};
    struct Attempt {
        double after_s;
        int degree;
        bool step;
        double lag_s;
    };
    // The plainest description that fits: a limber curve would take a part of the kick for itself.
    static constexpr std::array<Attempt, 13> attempts{{{3, 2, false, 0},
                                                       {3, 2, true, 0},
                                                       {1.4, 2, false, 0},
                                                       {3, 2, true, 0.15},
                                                       {3, 2, true, 0.05},
                                                       {3, 2, true, 0.3},
                                                       {3, 4, true, 0},
                                                       {1.4, 4, false, 0},
                                                       {1.4, 2, true, 0.15},
                                                       {1.4, 2, true, 0.05},
                                                       {0.8, 2, true, 0},
                                                       {3, 4, true, 0.15},
                                                       {3, 4, true, 0.05}}};
    for (auto const& a : attempts) {
        if (best.chi < 1.4) break;
        if (a.lag_s > 0 && a.lag_s < 0.8 * dt) continue;
        std::size_t const before = std::max<std::size_t>(samples(0.8, dt), 5),
                          after = std::max<std::size_t>(samples(a.after_s, dt), 7);
        KickWindow const w{std::max(low, at > before ? at - before : 0),
                           at,
                           std::min({high, at + after, y.size()}),
                           a.lag_s > 0 ? 0 : samples(0.06, dt)};
        if (w.at < w.from + 3 || w.to < w.at + w.skip + 3) continue;
        if (auto const f = best_decay({y, w, a.degree, noise}, dt, a.lag_s, a.step);
            f.chi < 0.6 * best.chi && of_size(f.shape, f.shape.step, jump, noise) &&
            comes_at_once(f.shape, dt, noise))
            best = f;
    }
    return best;
}

KickFit known_kick(std::span<double const> y,
                   std::size_t at,
                   std::size_t low,
                   std::size_t high,
                   double dt,
                   double noise) {
    struct Stretch {
        double before_s, after_s;
        int degree;
    };
    static constexpr std::array<Stretch, 6> stretches{
        {{3, 4, 2}, {3, 4, 3}, {1.5, 3, 2}, {1.5, 3, 3}, {1, 1.6, 2}, {1, 1.6, 3}}};
    for (auto const& [before_s, after_s, degree] : stretches) {
        std::size_t const before = std::max<std::size_t>(samples(before_s, dt), 8),
                          after = std::max<std::size_t>(samples(after_s, dt), 12);
        KickWindow const w{std::max(low, at > before ? at - before : 0),
                           at,
                           std::min({high, at + after, y.size()}),
                           0};
        if (w.at < w.from + 6 || w.to < w.at + 10) continue;
        auto const n = static_cast<double>(w.to - w.from);
        KickLine const line(y, w, degree, noise);
        double const smooth = line.chi(), good = 1.2 + 2 / std::sqrt(n);
        if (smooth < good) return {{}, none};  // nothing to explain
        KickFit best{{}, none};
        for (double const lag_s : {0.0, 0.06, 0.15}) {
            if (lag_s > 0 && lag_s < 0.8 * dt) continue;
            for (bool const step : {false, true})
                if (auto const f = best_decay(line, dt, lag_s, step);
                    f.chi + (best.chi == none ? 0 : 12 / n) < best.chi)
                    best = f;
        }
        if (best.chi < good && n * (smooth - best.chi) > 40 && best.shape.decay * dt < 1.5 &&
            comes_at_once(best.shape, dt, noise))
            return best;
    }
    return {{}, none};
}

KickFit refined_kick(std::span<double const> y,
                     std::size_t at,
                     std::size_t low,
                     std::size_t high,
                     KickShape const& first,
                     double dt,
                     double noise,
                     double jump) {
    std::vector<double> whole(y.begin(), y.end());  // with the kick put back
    for (std::size_t i = at;
         first.decay > 0 && i < std::min(whole.size(), at + samples(20 * first.decay * dt, dt));
         ++i)
        whole[i] += first.at(static_cast<double>(i - at));
    struct Stretch {
        double reach_s;
        int degree;
    };
    // From the longest and stiffest on: the first that describes the signal knows the step best.
    static constexpr std::array<Stretch, 12> stretches{{{9, 1},
                                                        {9, 2},
                                                        {5, 1},
                                                        {9, 3},
                                                        {5, 2},
                                                        {3, 1},
                                                        {5, 3},
                                                        {3, 2},
                                                        {1.6, 1},
                                                        {3, 3},
                                                        {1.6, 2},
                                                        {1.6, 3}}};
    for (auto const& [reach_s, degree] : stretches) {
        std::size_t const r = std::max<std::size_t>(samples(reach_s, dt), 6);
        KickWindow const w{std::max(low, at > r ? at - r : 0),
                           at,
                           std::min({high, at + r, y.size()}),
                           first.lag > 0 ? 0 : samples(0.06, dt)};
        if (w.at < w.from + 4 || w.to < w.at + w.skip + 6) continue;
        KickLine const line(whole, w, degree, noise);
        auto const fitted = [&](bool step) {
            return first.decay > 0 ? best_decay(line, dt, first.lag * dt, step)
                                   : line.with(0, 0, step);
        };
        auto const with = fitted(true);
        if (!(with.chi < 1.15 + 3 / std::sqrt(static_cast<double>(w.to - w.from)))) continue;
        auto whole_kick = with.shape;
        whole_kick.step += first.step;
        if (!of_size(whole_kick, whole_kick.step, jump, noise) ||
            !comes_at_once(whole_kick, dt, noise))
            continue;
        if (std::abs(with.shape.step) > 4 * with.step_u) return with;
        auto without = fitted(false);
        without.step_u = with.step_u;
        return without;
    }
    return {{first.decay, first.lag}, none, none};
}

KickFit kick_in(std::span<double const> y, KickWindow const& w, double dt, double noise) {
    KickFit best{{}, none};
    KickLine const line(y, w, 1, noise);
    for (double const lag_s : {0.0, 0.06, 0.15})
        if (lag_s == 0 || lag_s > 0.8 * dt)
            if (auto const f = best_decay(line, dt, lag_s, true); f.chi < best.chi) best = f;
    return best;
}

double peak_chi(std::span<double const> y,
                KickWindow const& window,
                Emg start,
                double least_sigma,
                double noise) {
    KickLine const line(y, {window.from, window.from, window.to, 0}, 1, noise);
    std::vector<double> shape(window.to - window.from);
    auto const chi_of = [&](Emg const& e) {
        for (std::size_t i = 0; i < shape.size(); ++i) shape[i] = value(e, static_cast<double>(i));
        return line.chi_with(shape);
    };
    start.area = start.sigma;
    double best = chi_of(start), step = 0.6;
    for (int round = 0; round < 60 && step > 0.01;
         ++round) {  // pattern search in place, width and tail
        bool better = false;
        for (int direction = 0; direction < 6; ++direction) {
            Emg e = start;
            double const way = direction % 2 == 0 ? step : -step;
            if (direction / 2 == 0) e.mu += way * e.sigma;
            if (direction / 2 == 1) e.sigma = std::max(least_sigma, e.sigma * std::exp(way));
            if (direction / 2 == 2)
                e.tau = std::clamp(e.tau * std::exp(2 * way), 0.02 * e.sigma, 8 * e.sigma);
            e.area = e.sigma;
            if (double const chi = chi_of(e); chi < best) best = chi, start = e, better = true;
        }
        if (!better) step *= 0.5;
    }
    return best;
}

void bridge(std::span<double> y, std::size_t from, std::size_t to, std::size_t flank) {
    std::size_t const first = from > flank ? from - flank : 0,
                      last = std::min(to + flank, y.size());
    std::vector<std::size_t> rows;
    for (std::size_t i = first; i < last; ++i)
        if (i < from || i >= to) rows.push_back(i);
    if (rows.size() < 8) return;
    auto const n = static_cast<Eigen::Index>(rows.size());
    Eigen::MatrixXd X(n, 4);
    Eigen::VectorXd v(n);
    double const centre = 0.5 * static_cast<double>(from + to),
                 half = 0.5 * static_cast<double>(last - first);
    auto const basis = [&](std::size_t i, int power) {
        return std::pow((static_cast<double>(i) - centre) / half, power);
    };
    for (Eigen::Index r = 0; r < n; ++r) {
        for (int c = 0; c < 4; ++c) X(r, c) = basis(rows[static_cast<std::size_t>(r)], c);
        v(r) = y[rows[static_cast<std::size_t>(r)]];
    }
    Eigen::VectorXd const b = X.colPivHouseholderQr().solve(v);
    for (std::size_t i = from; i < to; ++i) {
        y[i] = 0;
        for (int c = 0; c < 4; ++c) y[i] += b(c) * basis(i, c);
    }
}

}  // namespace gw::trace
