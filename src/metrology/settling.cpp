#include "metrology/settling.hpp"

#include <algorithm>
#include <cmath>

#include "metrology/approach_curves.hpp"
#include "metrology/precision.hpp"
#include "metrology/statistics.hpp"

namespace gw::metrology {

namespace {

using namespace approach_curves;  // NOLINT(google-build-using-namespace): its private other half

constexpr std::size_t least_readings = 8;

double robust_sd(std::vector<double> values) {
    for (double& v : values) v = std::abs(v);
    return 1.4826 * median(std::move(values));  // of a normal law
}

// Readings far from the middle of their neighbours: an injection that failed, a bubble.
std::vector<std::size_t> stand_out(std::span<double const> y) {
    std::vector<std::size_t> out;
    if (y.size() < least_readings) return out;
    std::vector<double> off;
    for (std::size_t i = 0; i < y.size(); ++i) {
        std::size_t const from = std::min(i < 2 ? 0 : i - 2, y.size() - 5);
        off.push_back(y[i] - median({y.begin() + static_cast<std::ptrdiff_t>(from),
                                     y.begin() + static_cast<std::ptrdiff_t>(from + 5)}));
    }
    // At the ends the window is one-sided and a slope looks like an outlier: left to the fit.
    // Where the slope is steep every reading is the middle of its neighbours: the scatter shows in
    // the second differences too.
    std::vector<double> bends;
    for (std::size_t i = 1; i + 1 < y.size(); ++i)
        bends.push_back((y[i + 1] - 2 * y[i] + y[i - 1]) / std::sqrt(6.0));
    double const s = std::max(robust_sd(off), robust_sd(bends));
    auto const [low, high] = std::minmax_element(y.begin(), y.end());
    for (std::size_t i = 2; i + 2 < y.size(); ++i)
        if (std::abs(off[i]) > std::max(8 * s, 1e-6 * (*high - *low))) {
            double const step = std::max(std::abs(y[i] - y[i - 1]), std::abs(y[i] - y[i + 1]));
            double const across = std::abs(y[i + 1] - y[i - 1]);
            if (std::min(std::abs(y[i] - y[i - 1]), std::abs(y[i] - y[i + 1])) > 2 * across &&
                step > 8 * s)
                out.push_back(i);
        }
    return out;
}

Record record_of(std::span<double const> t,
                 std::span<double const> y,
                 std::vector<bool> const& used,
                 std::size_t most) {
    Record out;
    out.span = t.back() - t.front();
    std::size_t count = 0;
    for (bool const u : used) count += u ? 1 : 0;
    std::size_t const per = (count + most - 1) / most;
    double sum_t = 0, sum_y = 0;
    std::size_t in = 0;
    for (std::size_t i = 0; i < t.size(); ++i) {
        if (!used[i]) continue;
        sum_t += (t[i] - t.front()) / out.span;
        sum_y += y[i];
        if (++in == per) {
            out.t.push_back(sum_t / static_cast<double>(per));
            out.y.push_back(sum_y / static_cast<double>(per));
            sum_t = sum_y = 0;
            in = 0;
        }
    }
    return out;
}

double lag1(std::vector<double> const& e) {
    double top = 0, bottom = 0;
    for (std::size_t i = 0; i < e.size(); ++i) {
        bottom += e[i] * e[i];
        if (i > 0) top += e[i] * e[i - 1];
    }
    return bottom > 0 ? top / bottom : 0;
}

double weighted_quantile(std::vector<std::pair<double, double>> const& sorted, double p) {
    double total = 0;
    for (auto const& each : sorted) total += each.second;
    double sum = 0;
    for (auto const& each : sorted) {
        sum += each.second;
        if (sum >= p * total) return each.first;
    }
    return sorted.back().first;
}

struct Chosen {
    Fit fit;
    bool drift = false, wander = false;
};

// A richer shape must be better by this much of the Bayes criterion: strong evidence by habit.
constexpr double clearly = 8;

Chosen choose(Record const& r) {
    Chosen out;
    out.fit = best_fit(r, Shape::constant);
    auto const line = best_fit(r, Shape::line);
    auto const one = best_fit(r, Shape::one);
    if (line.bic < out.fit.bic - 2 || one.bic < out.fit.bic - 2)
        out.fit = one.bic < line.bic ? one : line;
    if (r.n() >= 12) {
        auto const two = best_fit(r, Shape::two);
        auto const swing = best_fit(r, Shape::swing);
        auto const& richer = swing.bic < two.bic ? swing : two;
        if (richer.bic < out.fit.bic - clearly) out.fit = richer;
        auto const both = best_fit(r, Shape::one_and_line);
        if (both.bic < out.fit.bic - clearly) out.fit = both;
    }
    double const tau = std::exp(out.fit.q.p[0]);
    switch (out.fit.shape) {
        case Shape::constant:
            break;
        case Shape::line:
        case Shape::one_and_line:
            out.drift = true;
            break;
        case Shape::one:
            out.drift = tau > 0.9 * largest_tau;
            break;
        case Shape::two:
            out.drift = tau > 0.9 * largest_tau;
            break;
        case Shape::swing:
            out.wander = tau > 0.6;  // hardly smaller at the end than at the beginning
            break;
    }
    return out;
}

void describe_line(Record const& r, Approach& out) {
    auto const line = best_fit(r, Shape::line);
    double const s = std::sqrt(line.linear.rss / std::max(1.0, static_cast<double>(r.n() - 2)));
    out.rate = line.linear.c(1) / r.span;
    out.rate_u = s * line.linear.root.row(1).norm() / r.span;
}

// From the first reading to what is still to come, and never so far that the past is a speck.
std::vector<CurvePoint> curve_of(Record const& r,
                                 Fit const& fit,
                                 double first,
                                 Approach const& known,
                                 ApproachOptions const& options) {
    std::vector<CurvePoint> out;
    if (options.curve_points < 2) return out;
    double to = 1.25;
    if (known.ready_to) to = std::max(to, 1.05 * (*known.ready_to - first) / r.span);
    to = std::min(to, 4.0);
    std::vector<double> t;
    for (std::size_t i = 0; i < options.curve_points; ++i)
        t.push_back(to * static_cast<double>(i) / static_cast<double>(options.curve_points - 1));
    auto const bands = bands_of(r, fit, known.correlation, t, options.confidence);
    for (std::size_t i = 0; i < t.size(); ++i) {
        double const y = fit.at(t[i]);
        out.push_back(
            {first + r.span * t[i], y, std::min(y, bands[i].low), std::max(y, bands[i].high)});
    }
    return out;
}

}  // namespace

Approach approach(std::span<double const> t,
                  std::span<double const> y,
                  double limit,
                  ApproachOptions const& options) {
    Approach out;
    if (t.size() < least_readings || !(t.back() > t.front())) return out;
    std::vector<bool> used(t.size(), true);
    for (auto const i : stand_out(y)) used[i] = false;
    Record r = record_of(t, y, used, options.most_points);
    auto chosen = choose(r);
    for (int round = 0; round < 3; ++round) {  // what the curve itself shows to stand out
        if (t.size() > options.most_points) break;
        auto const e = residuals_of(r, chosen.fit);
        double const s =
            std::max(robust_sd(e), std::sqrt(floor_of(r) / static_cast<double>(r.n())));
        bool any = false;
        std::size_t at = 0, aside = 0;
        for (bool const u : used) aside += u ? 0 : 1;
        for (std::size_t i = 0; i < t.size(); ++i) {
            if (!used[i]) continue;
            if (std::abs(e[at]) > 6 * s && aside < t.size() / 5) {
                used[i] = false;
                any = true;
                ++aside;
            }
            ++at;
        }
        if (!any) break;
        r = record_of(t, y, used, options.most_points);
        chosen = choose(r);
    }
    for (std::size_t i = 0; i < used.size(); ++i)
        if (!used[i]) out.set_aside.push_back(i);
    if (r.t.size() < least_readings) return out;

    auto const e = residuals_of(r, chosen.fit);
    out.scatter = std::sqrt(
        chosen.fit.linear.rss /
        std::max(1.0, static_cast<double>(r.n()) - static_cast<double>(chosen.fit.parameters())));
    out.correlation = lag1(e);
    describe_line(r, out);
    double const one_sided = normal_quantile(options.confidence);
    double const strongly_tied = 0.7;  // of residuals that no curve explains
    auto const& fit = chosen.fit;
    double const present = fit.at(1.0);
    if (chosen.wander ||
        (out.correlation > strongly_tied && r.n() >= 15 && out.scatter > limit / 4)) {
        // A ramp that ends in rest fits no curve; what counts is the rest.
        if (t.size() >= 24) {
            std::size_t const half = t.size() / 2;
            auto tail = approach(t.subspan(half), y.subspan(half), limit, options);
            if (tail.motion == Motion::still && tail.settled) {
                for (auto& i : tail.set_aside) i += half;
                tail.abrupt = true;
                return tail;
            }
        }
        out.motion = Motion::wander;
        auto const [low, high] = std::minmax_element(r.y.begin(), r.y.end());
        out.settled = *high - *low + 2 * out.scatter <= limit;
        return out;
    }
    if (chosen.drift) {
        // No end in sight: what it does in as long again must be harmless.
        out.motion = Motion::drift;
        out.settled = (std::abs(out.rate) + one_sided * out.rate_u) * r.span <= limit;
        out.curve = curve_of(r, fit, t.front(), out, options);
        return out;
    }
    double const first = t.front();
    if (fit.shape == Shape::constant) {
        out.motion = Motion::still;
        out.remaining_change = 0;
        out.end_value = fit.linear.c(0);
        double const sure =
            std::max(0.0, out.correlation - 1 / std::sqrt(static_cast<double>(r.n())));
        double const u = out.rate_u * std::sqrt((1 + sure) / (1 - sure));
        out.settled = 0.5 * r.span * (std::abs(out.rate) + one_sided * u) <= limit;
        if (out.settled) {
            out.ready_at = out.ready_from = first;
            out.ready_to = t.back();
        }
        out.curve = curve_of(r, fit, first, out, options);
        return out;
    }
    out.motion = fit.shape == Shape::one   ? Motion::first_order
                 : fit.shape == Shape::two ? Motion::second_order
                                           : Motion::damped_swing;
    out.time_constant = std::exp(fit.q.p[0]) * r.span;
    out.end_value = fit.linear.c(0);
    out.remaining_change = fit.linear.c(0) - present;
    auto const futures = futures_of(r, fit, out.correlation);
    std::vector<std::pair<double, double>> ready;
    double under = 0, total = 0, slowest = 0;
    for (auto const& f : futures) {
        double const at = last_outside(fit.shape, f, limit);
        ready.emplace_back(at, f.weight);
        total += f.weight;
        if (at <= 1.0) under += f.weight;
        if (f.q.p[0] > std::log(0.8 * largest_tau)) slowest += f.weight;
    }
    std::sort(ready.begin(), ready.end());
    out.settled = under >= options.confidence * total;
    double const tail = 0.5 * (1 - options.confidence);
    Future best;
    best.q = fit.q;
    for (std::size_t k = 0; k < columns_of(fit.shape); ++k)
        best.c[k] = fit.linear.c(static_cast<Eigen::Index>(k) + 1);
    if (slowest > tail * total && !out.settled) {  // it could as well never arrive
        out.curve = curve_of(r, fit, first, out, options);
        return out;
    }
    out.ready_at = first + r.span * last_outside(fit.shape, best, limit);
    out.ready_from = std::min(*out.ready_at, first + r.span * weighted_quantile(ready, tail));
    out.ready_to = std::max(*out.ready_at, first + r.span * weighted_quantile(ready, 1 - tail));
    out.curve = curve_of(r, fit, first, out, options);
    return out;
}

}  // namespace gw::metrology