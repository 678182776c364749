#include "oven/curve.hpp"

#include <algorithm>
#include <cmath>

namespace gw::oven {

namespace {

// Cubic through four values of a function known at u = -1, 0, 1, 2; u in [0, 1].
double cubic(double a, double b, double c, double d, double u) {
    double const p = u + 1, q = u - 1, r = u - 2;
    return -a * u * q * r / 6 + b * p * q * r / 2 - c * p * u * r / 2 + d * p * u * q / 6;
}

// The same where the last value stands at u = r instead of 1, the others at -2, -1, 0; u in [0, r].
double cubic_before(double a, double b, double c, double d, double r, double u) {
    return a * (u + 1) * u * (u - r) / (-2 * (2 + r)) + b * (u + 2) * u * (u - r) / (1 + r) +
           c * (u + 2) * (u + 1) * (u - r) / (-2 * r) +
           d * (u + 2) * (u + 1) * u / ((r + 2) * (r + 1) * r);
}

}  // namespace

double Curve::passed(double t) const {
    std::size_t const n = at.size() - 1;
    double const x = (t - begin) / step;
    if (x <= 0 || n == 0) return n == 0 && end > begin ? total * (t - begin) / (end - begin) : 0;
    if (x >= static_cast<double>(n)) {
        double const rest = end - begin - static_cast<double>(n) * step;
        double const u = t - begin - static_cast<double>(n) * step;
        if (rest <= 1e-9 * step || u >= rest) return total;
        if (n < 2) return at[n] + (total - at[n]) * u / rest;
        return cubic_before(at[n - 2], at[n - 1], at[n], total, rest / step, u / step);
    }
    auto k = static_cast<std::size_t>(x);
    double const u = x - static_cast<double>(k);
    // At either end of the stretch the same cubic from one side: the flow may jump there.
    if (n < 3) return at[k] + (at[k + 1] - at[k]) * u;
    double shift = 0;
    if (k == 0) {
        k = 1;
        shift = -1;
    } else if (k + 2 > n) {
        k = n - 2;
        shift = 1;
    }
    return cubic(at[k - 1], at[k], at[k + 1], at[k + 2], u + shift);
}

void Curve::find_support() {
    auto const something = [](double a, double b) { return std::abs(b - a) > 1e-2 * negligible; };
    from = 1;
    until = -1e300;
    std::size_t const n = at.size() - 1;
    for (std::size_t k = 0; k < n; ++k)
        if (something(at[k], at[k + 1])) {
            from = begin + static_cast<double>(k) * step;
            break;
        } else if (k + 1 == n) {
            from = end;  // perhaps only in the last, broken step
        }
    if (n == 0) from = begin;
    if (something(at[n], total)) {
        until = end;
        if (from > end) from = begin + static_cast<double>(n) * step;
        return;
    }
    for (std::size_t k = n; k > 0; --k)
        if (something(at[k - 1], at[k])) {
            until = begin + static_cast<double>(k) * step;
            return;
        }
    until = from - 1;
}

double LoopRelease::passed(double t) const {
    auto const step_passed = [&](double u) {
        if (u <= 0) return 0.0;
        return lag_s > 0 ? u + lag_s * std::expm1(-u / lag_s) : u;
    };
    double sum = 0;
    for (double const start : starts)
        sum += (step_passed(t - start) - step_passed(t - start - pulse_s)) / pulse_s;
    return sum;
}

double LoopRelease::settled_after() const {
    return pulse_s + 36 * lag_s;  // exp(-36) is below rounding
}

Inflow::Inflow(LoopRelease const& loop, double begin, double end) : loop_(&loop) {
    for (double const start : loop.starts) {
        double const first = std::max(begin, start),
                     last = std::min(end, start + loop.settled_after());
        if (first >= last) continue;
        from_ = nothing() ? first : std::min(from_, first);
        until_ = std::max(until_, last);
    }
}

}  // namespace gw::oven
