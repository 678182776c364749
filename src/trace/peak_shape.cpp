#include "trace/peak_shape.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <vector>

#include "trace/curvature.hpp"

namespace gw::trace {

namespace {

struct Top {
    double x{}, height{};
};

// A fourth-order curve through the samples above `level` of the height; exact enough for a skewed
// top and quiet enough for a noisy one.
std::optional<Top> fitted_top(std::span<double const> v, std::size_t top, double level) {
    std::size_t from = top, to = top + 1;
    while (from > 0 && v[from - 1] > level * v[top]) --from;
    while (to < v.size() && v[to] > level * v[top]) ++to;
    auto const n = static_cast<Eigen::Index>(to - from);
    if (n < 7) return std::nullopt;
    double const centre = 0.5 * static_cast<double>(from + to - 1),
                 half = 0.5 * static_cast<double>(n);
    Eigen::MatrixXd X(n, 5);
    Eigen::VectorXd b(n);
    for (Eigen::Index i = 0; i < n; ++i) {
        double const u = (static_cast<double>(from) + static_cast<double>(i) - centre) / half;
        X.row(i) << 1, u, u * u, u * u * u, u * u * u * u;
        b(i) = v[from + static_cast<std::size_t>(i)];
    }
    Eigen::VectorXd const c = X.householderQr().solve(b);
    auto const at = [&](double u) {
        return c(0) + u * (c(1) + u * (c(2) + u * (c(3) + u * c(4))));
    };
    double best = 0;
    for (int k = -40; k <= 40; ++k)
        if (at(k / 50.0) > at(best)) best = k / 50.0;
    for (int step = 0; step < 20; ++step) {  // Newton on the slope
        double const slope = c(1) + best * (2 * c(2) + best * (3 * c(3) + best * 4 * c(4)));
        double const bend = 2 * c(2) + best * (6 * c(3) + best * 12 * c(4));
        if (!(bend < 0)) break;
        double const move = -slope / bend;
        best = std::clamp(best + move, -0.95, 0.95);
        if (std::abs(move) < 1e-10) break;
    }
    return Top{centre + half * best, at(best)};
}

// Parabola through the logarithms of three samples: exact for a Gaussian.
Top three_point_top(std::span<double const> v, std::size_t top) {
    if (top == 0 || top + 1 >= v.size() || v[top - 1] <= 0 || v[top + 1] <= 0 || v[top] <= 0)
        return {static_cast<double>(top), v[top]};
    double const a = std::log(v[top - 1]), b = std::log(v[top]), c = std::log(v[top + 1]);
    double const bend = a - 2 * b + c;
    if (!(bend < 0)) return {static_cast<double>(top), v[top]};
    double const x = std::clamp(0.5 * (a - c) / bend, -0.5, 0.5);
    return {static_cast<double>(top) + x, std::exp(b - 0.25 * (a - c) * x)};
}

// Where the flank crosses `level`, walking from `top` in direction `step`; none when it never does.
std::optional<double> crossing(std::span<double const> v, std::size_t top, int step, double level) {
    auto i = static_cast<std::ptrdiff_t>(top);
    auto const n = static_cast<std::ptrdiff_t>(v.size());
    while (i + step >= 0 && i + step < n) {
        double const here = v[static_cast<std::size_t>(i)],
                     next = v[static_cast<std::size_t>(i + step)];
        if (next <= level && here > level)
            return static_cast<double>(i) + step * (here - level) / (here - next);
        i += step;
    }
    return std::nullopt;
}

}  // namespace

PeakShape peak_shape(std::span<double const> r,
                     std::size_t first,
                     std::size_t last,
                     std::size_t top,
                     double sign,
                     double start_s,
                     double interval_s,
                     std::size_t smooth) {
    std::vector<double> v(r.begin() + static_cast<std::ptrdiff_t>(first),
                          r.begin() + static_cast<std::ptrdiff_t>(last));
    for (double& x : v) x *= sign;
    auto const quiet = moving_mean(v, smooth);
    std::size_t peak = std::min(top - first, v.size() - 1);
    while (peak > 0 && quiet[peak - 1] > quiet[peak]) --peak;
    while (peak + 1 < quiet.size() && quiet[peak + 1] > quiet[peak]) ++peak;

    // The nearer to the top, the less the skew of the peak bends the curve; noise asks for more of
    // it.
    std::optional<Top> fitted;
    if (smooth == 0) fitted = fitted_top(v, peak, 0.85);
    if (!fitted)
        fitted = fitted_top(
            smooth > 0 ? std::span<double const>(quiet) : std::span<double const>(v), peak, 0.55);
    Top const summit = fitted ? *fitted : three_point_top(v, peak);
    PeakShape out;
    out.apex_s = start_s + (static_cast<double>(first) + summit.x) * interval_s;
    out.height = sign * summit.height;
    auto const flank = [&](int step, double share) {
        return crossing(quiet, peak, step, share * summit.height);
    };
    auto const left = flank(-1, 0.5), right = flank(1, 0.5);
    out.front_reached = left.has_value();
    out.back_reached = right.has_value();
    if (left) out.front_half_s = (summit.x - *left) * interval_s;
    if (left && right && *right > *left) {
        out.width_half_s = (*right - *left) * interval_s;
    } else if (left && summit.x > *left) {
        out.width_half_s = 2 * (summit.x - *left) * interval_s;
    } else if (right && *right > summit.x) {
        out.width_half_s = 2 * (*right - summit.x) * interval_s;
    } else {
        out.width_half_s = static_cast<double>(v.size()) * interval_s;
    }
    for (double share = 0.1; share < 0.6; share += 0.1) {
        auto const front = flank(-1, share), back = flank(1, share);
        if (front && back && summit.x > *front) {
            out.asymmetry = (*back - summit.x) / (summit.x - *front);
            break;
        }
    }
    auto const front = flank(-1, 0.05), back = flank(1, 0.05);
    if (front && back && summit.x > *front)
        out.tailing = (*back - *front) / (2 * (summit.x - *front));
    return out;
}

}  // namespace gw::trace
