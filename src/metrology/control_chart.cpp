#include "metrology/control_chart.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "metrology/statistics.hpp"

namespace gw::metrology {

double c4(std::size_t n) {
    if (n < 2) return std::numeric_limits<double>::quiet_NaN();
    auto const m = static_cast<double>(n);
    return std::sqrt(2 / (m - 1)) * std::exp(std::lgamma(m / 2) - std::lgamma((m - 1) / 2));
}

double d2(std::size_t n) {
    if (n < 2) return std::numeric_limits<double>::quiet_NaN();
    // E(range) = integral of 1 - Phi^n - (1 - Phi)^n; the trapezoidal rule is exact enough for so
    // smooth a curve.
    constexpr double step = 1.0 / 64, edge = 9;
    double sum = 0;
    for (double z = -edge; z <= edge; z += step) {
        double const p = 0.5 * std::erfc(-z / std::numbers::sqrt2);
        sum += 1 - std::pow(p, static_cast<double>(n)) - std::pow(1 - p, static_cast<double>(n));
    }
    return sum * step;
}

ChartBase individuals_base(std::span<double const> values) {
    ChartBase out;
    out.n = values.size();
    out.centre = mean(values);
    if (values.size() < 2) return out;
    double ranges = 0;
    for (std::size_t i = 1; i < values.size(); ++i) ranges += std::abs(values[i] - values[i - 1]);
    out.sigma = ranges / static_cast<double>(values.size() - 1) / d2(2);
    return out;
}

std::vector<EwmaPoint> ewma(std::span<double const> y,
                            ChartBase const& base,
                            double lambda,
                            double L) {
    std::vector<EwmaPoint> out;
    double z = base.centre, shrink = 1;
    for (double const each : y) {
        z = lambda * each + (1 - lambda) * z;
        shrink *= (1 - lambda) * (1 - lambda);
        double const half = L * base.sigma * std::sqrt(lambda / (2 - lambda) * (1 - shrink));
        out.push_back(
            {z, base.centre - half, base.centre + half, std::abs(z - base.centre) > half});
    }
    return out;
}

std::vector<CusumPoint> cusum(std::span<double const> y, double centre, double K, double H) {
    std::vector<CusumPoint> out;
    CusumPoint now;
    for (double const each : y) {
        now.high = std::max(0.0, each - (centre + K) + now.high);
        now.low = std::max(0.0, (centre - K) - each + now.low);
        now.run_high = now.high > 0 ? now.run_high + 1 : 0;
        now.run_low = now.low > 0 ? now.run_low + 1 : 0;
        now.outside = now.high > H || now.low > H;
        out.push_back(now);
    }
    return out;
}

namespace {

constexpr std::size_t least_side = 3, least_readings = 8;

struct Split {
    double at{}, rss = std::numeric_limits<double>::infinity();
};

// Sums that make the least squares of any split one step of arithmetic. Values are taken about the
// middle so that nothing cancels.
struct Sums {
    std::vector<double> t, y, st, stt, sy, sty, syy;
    Sums(std::span<double const> time, std::span<double const> value) {
        double const t0 = mean(time), y0 = mean(value);
        st = stt = sy = sty = syy = {0.0};
        for (std::size_t i = 0; i < time.size(); ++i) {
            double const a = time[i] - t0, b = value[i] - y0;
            t.push_back(a);
            y.push_back(b);
            st.push_back(st.back() + a);
            stt.push_back(stt.back() + a * a);
            sy.push_back(sy.back() + b);
            sty.push_back(sty.back() + a * b);
            syy.push_back(syy.back() + b * b);
        }
    }
    [[nodiscard]] std::size_t n() const { return t.size(); }
    // y = a before, b from reading i on.
    [[nodiscard]] double step(std::size_t i) const {
        auto const left = static_cast<double>(i), right = static_cast<double>(n() - i);
        double const s = sy[i], rest = sy.back() - s;
        return std::max(syy.back() - s * s / left - rest * rest / right, 0.0);
    }
    // y = a + b max(t - tau, 0): b and a by two normal equations.
    struct Hinge {
        double rss{}, a{}, b{}, Sxx{};
    };
    [[nodiscard]] Hinge hinge(double tau) const {
        auto const first =
            static_cast<std::size_t>(std::upper_bound(t.begin(), t.end(), tau) - t.begin());
        auto const m = static_cast<double>(n() - first), all = static_cast<double>(n());
        double const s1 = st.back() - st[first], s2 = stt.back() - stt[first];
        double const x1 = s1 - m * tau, x2 = s2 - 2 * tau * s1 + m * tau * tau;
        double const xy = (sty.back() - sty[first]) - tau * (sy.back() - sy[first]);
        double const Sxx = x2 - x1 * x1 / all, Sxy = xy - x1 * sy.back() / all;
        double const Syy = syy.back() - sy.back() * sy.back() / all;
        if (!(Sxx > 0)) return {Syy, sy.back() / all, 0, 0};
        double const b = Sxy / Sxx;
        return {std::max(Syy - b * Sxy, 0.0), (sy.back() - b * x1) / all, b, Sxx};
    }
};

}  // namespace

ChangePoint change_point(std::span<double const> t, std::span<double const> y) {
    ChangePoint out;
    std::size_t const n = t.size();
    if (n < least_readings) return out;
    Sums const sums(t, y);
    double const shift = mean(t), level = mean(y);
    double const none =
        std::max(sums.syy.back() - sums.sy.back() * sums.sy.back() / static_cast<double>(n), 0.0);

    Split step, drift;
    std::size_t step_index = 0;
    for (std::size_t i = least_side; i + least_side <= n; ++i)
        if (double const rss = sums.step(i); rss < step.rss) {
            step = {0.5 * (sums.t[i - 1] + sums.t[i]), rss};
            step_index = i;
        }
    // The onset of a drift lies anywhere; a fine grid between the readings finds it.
    std::vector<double> grid;
    constexpr int between = 8;
    for (std::size_t i = 0; i + least_side < n; ++i)
        for (int k = 0; k < between; ++k)
            grid.push_back(sums.t[i] + (sums.t[i + 1] - sums.t[i]) * k / between);
    for (double const tau : grid)
        if (double const rss = sums.hinge(tau).rss; rss < drift.rss) drift = {tau, rss};

    bool const by_drift = drift.rss < step.rss;
    double const best = by_drift ? drift.rss : step.rss;
    double const freedom = static_cast<double>(n) - 3;
    double const variance = std::max(best, 1e-300) / freedom;
    out.sigma = std::sqrt(variance);
    // Two parameters more than a constant, and about n/2 independent dates tried (Bonferroni).
    double const F = (none - best) / (2 * variance);
    double const tried = std::max(1.0, static_cast<double>(n) / 2);
    double const p_one = std::pow(1 + 2 * F / freedom, -0.5 * freedom);  // of F with 2 and nu
    out.p_value = std::min(1.0, tried * p_one);
    if (!(out.p_value < 0.01)) return out;

    // All dates whose misfit is not significantly worse belong to the interval.
    double const bound = best + variance * f_quantile(0.95, 1, freedom);
    double from = std::numeric_limits<double>::infinity(), to = -from;
    if (by_drift) {
        for (double const tau : grid)
            if (sums.hinge(tau).rss <= bound) {
                from = std::min(from, tau);
                to = std::max(to, tau);
            }
        auto const h = sums.hinge(drift.at);
        out.change = Change::drift;
        out.at = shift + drift.at;
        out.before = level + h.a;
        out.rate = h.b;
        double const reach = sums.t.back() - drift.at;
        out.after = out.before + h.b * reach;
        out.u_after = out.sigma / std::sqrt(h.Sxx) * reach;
    } else {
        for (std::size_t i = least_side; i + least_side <= n; ++i)
            if (sums.step(i) <= bound) {
                from = std::min(from, sums.t[i - 1]);
                to = std::max(to, sums.t[i]);
            }
        out.change = Change::step;
        out.at = shift + step.at;
        auto const left = static_cast<double>(step_index), right = static_cast<double>(n) - left;
        out.before = level + sums.sy[step_index] / left;
        out.after = level + (sums.sy.back() - sums.sy[step_index]) / right;
        out.u_after = out.sigma * std::sqrt(1 / left + 1 / right);
    }
    out.from = shift + from;
    out.to = shift + to;
    return out;
}

}  // namespace gw::metrology
