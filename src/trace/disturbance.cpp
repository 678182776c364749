#include "trace/disturbance.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <limits>

namespace gw::trace {

namespace {

struct Onset {
    std::size_t at{};   // first disturbed sample
    double jump{};      // mean of the next samples less the line through the ones before
    bool known{};
};

// How far the next samples stand from the straight line through the ones before, against how far the
// signal goes in the following half second. A peak starts gently, so the ratio is small; a valve jumps.
std::vector<Onset> onsets(std::span<double const> y, double start_s, double dt, double noise, std::span<SignalEvent const> events) {
    auto const count = [&](double seconds, std::size_t low, std::size_t high) {
        return std::clamp(static_cast<std::size_t>(std::lround(seconds / dt)), low, high);
    };
    std::size_t const m = count(0.16, 4, 40), ahead = count(0.1, 1, 20), reach = count(0.6, 4, 150);
    std::vector<Onset> found;
    if (y.size() < m + reach + 2) return found;
    // Variance of (mean of `ahead` samples) - (line through m samples, carried on by about ahead / 2).
    double const lever = 0.5 * static_cast<double>(m + ahead);
    double const md = static_cast<double>(m);
    double const sd = noise * std::sqrt(1 / static_cast<double>(ahead) + 1 / md + lever * lever * 12 / (md * (md * md - 1)));
    double const middle = 0.5 * (md - 1);
    std::vector<double> jump(y.size(), 0.0), level(y.size(), 0.0);
    for (std::size_t i = m; i + reach < y.size(); ++i) {
        double mean = 0, slope = 0, next = 0;
        for (std::size_t k = 0; k < m; ++k) {
            mean += y[i - m + k];
            slope += (static_cast<double>(k) - middle) * y[i - m + k];
        }
        mean /= md;
        slope *= 12 / (md * (md * md - 1));
        for (std::size_t k = 0; k < ahead; ++k) next += y[i + k];
        jump[i] = next / static_cast<double>(ahead) - (mean + slope * lever);
        level[i] = mean + slope * middle;
    }
    for (std::size_t i = m; i + reach < y.size(); ++i) {
        if (std::abs(jump[i]) < 7 * sd) continue;
        // Where the signal was bending already, the line through it misses by as much just before.
        double usual = 0;
        for (std::size_t k = ahead; k <= ahead + m / 2 && k <= i; ++k) usual = std::max(usual, std::abs(jump[i - k]));
        if (std::abs(jump[i]) < 4 * usual) continue;
        double excursion = 0;
        for (std::size_t k = 0; k < reach; ++k) excursion = std::max(excursion, std::abs(y[i + k] - level[i]));
        bool known = false;
        for (auto const& event : events) known = known || std::abs(start_s + static_cast<double>(i) * dt - event.at_s) < 0.5 + 2 * dt;
        // At few samples a second the foot of a narrow peak jumps too: ask for more there.
        double const needed = dt > 0.045 ? (known ? 0.5 : 0.85) : (known ? 0.14 : 0.25);
        if (std::abs(jump[i]) < needed * excursion) continue;
        // The mean of the next samples sees the jump coming: the onset is where it is largest.
        if (!found.empty() && i - found.back().at <= ahead + 2) {
            if (std::abs(jump[i]) > std::abs(found.back().jump)) found.back() = {i, jump[i], known || found.back().known};
            continue;
        }
        found.push_back({i, jump[i], known});
    }
    return found;
}

// Noise can hide the jump by a sample or two: step back while a sample already stands off the line
// through the ones before it, on the side of the jump.
std::size_t first_disturbed(std::span<double const> y, Onset const& onset, std::size_t m, double noise) {
    std::size_t at = onset.at;
    for (int back = 0; back < 3 && at > m + 1; ++back) {
        double level = 0, slope = 0;
        double const middle = 0.5 * static_cast<double>(m - 1);
        double spread = 0;
        for (std::size_t k = 0; k < m; ++k) {
            double const u = static_cast<double>(k) - middle;
            level += y[at - 1 - m + k], slope += u * y[at - 1 - m + k], spread += u * u;
        }
        double const predicted = level / static_cast<double>(m) + slope / spread * (middle + 1);
        double const off = y[at - 1] - predicted;
        if (off * onset.jump < 0 || std::abs(off) < std::max(5.5 * noise, 0.05 * std::abs(onset.jump))) break;
        --at;
    }
    return at;
}

struct Fit {
    double chi = std::numeric_limits<double>::infinity();  // residual variance over noise variance
    double tau = 0, amplitude = 0, step = 0;               // samples; unit; unit
};

struct Window {
    std::size_t from{}, at{}, to{}, skip{};  // samples [from, to) without [at, at + skip)
};

// A polynomial through the window with, from `at` on, a decaying kick and a step. The skipped samples are
// those in which the detector's own lag rounds the onset, or a spike too short to have a shape.
Fit fit_kick(std::span<double const> y, Window const& w, int degree, double tau, double noise, bool kick, bool step) {
    std::vector<std::size_t> rows;
    for (std::size_t i = w.from; i < w.to; ++i)
        if (i < w.at || i >= w.at + w.skip) rows.push_back(i);
    Eigen::Index const columns = degree + 1 + (kick ? 1 : 0) + (step ? 1 : 0);
    auto const n = static_cast<Eigen::Index>(rows.size());
    if (n < columns + 4) return {};
    Eigen::MatrixXd X(n, columns);
    Eigen::VectorXd v(n);
    double const half = 0.5 * static_cast<double>(w.to - w.from);
    for (Eigen::Index r = 0; r < n; ++r) {
        auto const i = rows[static_cast<std::size_t>(r)];
        double const u = (static_cast<double>(i) - static_cast<double>(w.from)) / half - 1;
        double power = 1;
        for (Eigen::Index c = 0; c <= degree; ++c, power *= u) X(r, c) = power;
        Eigen::Index c = degree + 1;
        if (kick) X(r, c++) = i >= w.at ? std::exp(-(static_cast<double>(i) - static_cast<double>(w.at)) / tau) : 0.0;
        if (step) X(r, c++) = i >= w.at ? 1.0 : 0.0;
        v(r) = y[i];
    }
    Eigen::VectorXd const b = X.householderQr().solve(v);
    Fit fit;
    fit.chi = (v - X * b).squaredNorm() / (noise * noise * static_cast<double>(n - columns));
    fit.tau = tau;
    fit.amplitude = kick ? b(degree + 1) : 0.0;
    fit.step = step ? b(columns - 1) : 0.0;
    return fit;
}

// The best decay time, all compared on one window: a coarse look over two decades, then a golden section
// in its logarithm.
Fit best_kick(std::span<double const> y, Window const& frame, double dt, double noise, int degree, bool step) {
    Fit best;
    double best_tau = 0;
    for (double tau = 0.05; tau < 2.6; tau *= 1.5)
        if (auto const fit = fit_kick(y, frame, degree, tau / dt, noise, true, step); fit.chi < best.chi) best = fit, best_tau = tau;
    if (best_tau == 0) return best;
    double low = std::log(best_tau / 1.6), high = std::log(best_tau * 1.6);
    double const g = 0.6180339887498949;
    auto const at_log = [&](double x) { return fit_kick(y, frame, degree, std::exp(x) / dt, noise, true, step); };
    Fit a = at_log(high - g * (high - low)), b = at_log(low + g * (high - low));
    for (int k = 0; k < 14; ++k) {
        if (a.chi < b.chi) {
            high = low + g * (high - low);
            b = a;
            a = at_log(high - g * (high - low));
        } else {
            low = high - g * (high - low);
            a = b;
            b = at_log(low + g * (high - low));
        }
    }
    return a.chi < b.chi ? a : b;
}

void bridge(std::span<double> y, std::size_t from, std::size_t to, std::size_t flank) {
    // A cubic through the flanks on both sides, so that a peak beneath keeps its curve.
    std::size_t const first = from > flank ? from - flank : 0, last = std::min(to + flank, y.size());
    std::vector<std::size_t> rows;
    for (std::size_t i = first; i < last; ++i)
        if (i < from || i >= to) rows.push_back(i);
    if (rows.size() < 8) return;
    auto const n = static_cast<Eigen::Index>(rows.size());
    Eigen::MatrixXd X(n, 4);
    Eigen::VectorXd v(n);
    double const centre = 0.5 * static_cast<double>(from + to), half = 0.5 * static_cast<double>(last - first);
    auto const basis = [&](std::size_t i, int power) { return std::pow((static_cast<double>(i) - centre) / half, power); };
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

}  // namespace

std::vector<Disturbance> remove_disturbances(std::span<double> y,
                                             double start_s,
                                             double dt,
                                             double noise,
                                             std::span<SignalEvent const> events,
                                             double narrowest_s) {
    std::vector<Disturbance> out;
    auto const samples = [&](double seconds) { return static_cast<std::size_t>(std::max(1.0, std::round(seconds / dt))); };
    std::vector<std::size_t> settled;  // onsets looked at, so that none is met twice
    for (int round = 0; round < 60; ++round) {
        Onset onset;
        for (auto const& o : onsets(y, start_s, dt, noise, events)) {
            bool const seen = std::any_of(settled.begin(), settled.end(), [&](std::size_t s) { return o.at + samples(0.3) > s && o.at < s + samples(0.3); });
            if (!seen && std::abs(o.jump) > std::abs(onset.jump)) onset = o;
        }
        if (onset.jump == 0) break;
        std::size_t const at = first_disturbed(y, onset, samples(0.16), noise);
        settled.push_back(onset.at);
        // 1. Gone within less than a peak's width: a spike. Bridge it when both flanks agree on one curve.
        Fit spike;
        std::size_t spike_samples = 0;
        for (double const width : {0.12, 0.2, 0.3, 0.45, 0.6}) {
            if (width > 1.5 * narrowest_s) break;
            std::size_t const before = samples(0.6);
            Window const w{at > before ? at - before : 0, at, std::min(at + samples(width) + samples(0.6), y.size()), samples(width)};
            auto const fit = fit_kick(y, w, 2, 1, noise, false, false);
            if (fit.chi < spike.chi) spike = fit, spike_samples = samples(width);
            if (fit.chi < 1.6) break;
        }
        // 2. A decaying kick, with or without a step that stays (it is taken off too, so that the background runs on),
        //    on a slope or on the flank of a peak.
        Fit kick;
        struct Attempt {
            double after_s;
            int degree;
            bool step;
        };
        for (auto const& [after_s, degree, step] : {Attempt{3, 2, false}, {3, 2, true}, {1.4, 2, false}, {3, 4, true}, {1.4, 4, false}}) {
            // The plainest description that fits: a limber curve would take a part of the kick for itself.
            if (kick.chi < 1.4) break;
            std::size_t const before = samples(0.8);
            Window const w{at > before ? at - before : 0, at, std::min(at + samples(after_s), y.size()), samples(0.06)};
            if (auto const fit = best_kick(y, w, dt, noise, degree, step); fit.chi < 0.6 * kick.chi) kick = fit;
        }
        Disturbance found{start_s + static_cast<double>(at) * dt, 0, onset.jump, onset.known, false};
        double const tolerated = std::max(4.0, 0.02 * std::pow(kick.amplitude / noise, 2));
        if (spike.chi < 3 && spike.chi < 0.8 * kick.chi) {
            bridge(y, at, std::min(at + spike_samples, y.size()), samples(0.6));
            found.end_s = found.at_s + static_cast<double>(spike_samples) * dt;
        } else if (kick.chi < tolerated && kick.amplitude * onset.jump > 0) {
            found.removed = true;
            found.height = kick.amplitude;
            found.end_s = found.at_s + std::log(std::max(2.0, std::abs(kick.amplitude) / noise)) * kick.tau * dt;
            for (std::size_t i = at; i < std::min(y.size(), at + static_cast<std::size_t>(16 * kick.tau) + 2); ++i)
                y[i] -= kick.amplitude * std::exp(-static_cast<double>(i - at) / kick.tau);
            for (std::size_t i = at; i < y.size(); ++i) y[i] -= kick.step;
            bridge(y, at, std::min(at + samples(0.06), y.size()), samples(0.4));
        } else {
            continue;  // sudden, but no valve's shape: a cut peak or a fault, left as it is
        }
        out.push_back(found);
    }
    std::sort(out.begin(), out.end(), [](Disturbance const& a, Disturbance const& b) { return a.at_s < b.at_s; });
    return out;
}

}  // namespace gw::trace
