#include "trace/emg.hpp"

#include <cmath>
#include <numbers>

#include "trace/erfcx_terms.hpp"

namespace gw::trace {

namespace {

constexpr double inverse_sqrt_two_pi = 0.39894228040143267794;

double gaussian(double area, double sigma, double x) {
    double const u = x / sigma;
    return area / sigma * inverse_sqrt_two_pi * std::exp(-0.5 * u * u);
}

// Below this tail the shape is a Gaussian centred at mu + tau to better than 1e-9 of its height.
constexpr double least_tail = 1e-3;

}  // namespace

double erfcx(double x) {
    if (x < 0) return 2 * std::exp(x * x) - erfcx(-x);
    double const s = (x - erfcx_middle) / (x + erfcx_middle);
    double sum = 0;
    for (std::size_t k = erfcx_terms.size(); k-- > 0;) sum = sum * s + erfcx_terms[k];
    return sum / (1 + 2 * x);
}

double value(Emg const& p, double t) {
    if (p.tau < least_tail * p.sigma) return gaussian(p.area, p.sigma, t - p.mu - p.tau);
    double const x = t - p.mu, ratio = p.sigma / p.tau;
    double const z = (ratio - x / p.sigma) / std::numbers::sqrt2;
    if (z < 0)
        return p.area / (2 * p.tau) * std::exp(0.5 * ratio * ratio - x / p.tau) * std::erfc(z);
    double const u = x / p.sigma;
    return p.area / (2 * p.tau) * std::exp(-0.5 * u * u) * erfcx(z);
}

double area_before(Emg const& p, double t) {
    if (p.tau < least_tail * p.sigma)
        return p.area * 0.5 * std::erfc(-(t - p.mu - p.tau) / (p.sigma * std::numbers::sqrt2));
    return p.area * 0.5 * std::erfc(-(t - p.mu) / (p.sigma * std::numbers::sqrt2)) -
           p.tau * value(p, t);
}

EmgDerivatives derivatives(Emg const& given, double t) {
    Emg p = given;
    p.tau = std::max(p.tau, least_tail * p.sigma);
    double const x = t - p.mu;
    double const f = value(p, t), g = gaussian(p.area, p.sigma, x);
    // f + tau f' = g, and the Gaussian obeys dg/dsigma = sigma g'': both carry over to f.
    double const slope = (g - f) / p.tau;
    double const curvature = (-x / (p.sigma * p.sigma) * g - slope) / p.tau;
    double const s2 = p.sigma * p.sigma, t2 = p.tau * p.tau;
    EmgDerivatives out;
    out.value = f;
    out.d = {f / p.area,
             -slope,
             p.sigma * curvature,
             f * (x / t2 - 1 / p.tau - s2 / (t2 * p.tau)) + g * s2 / (t2 * p.tau)};
    return out;
}

}  // namespace gw::trace
