#include "truth/shapes.hpp"

#include <cmath>
#include <numbers>

namespace gw::truth {

namespace {

using std::numbers::pi;

double modified(double x, double sigma, double tau) {
    double const a = sigma / tau, z = (a - x / sigma) / std::numbers::sqrt2;
    if (z > 20) {  // far on the front: the leading term of the quotient's expansion
        double const u = x / sigma;
        return std::exp(-0.5 * u * u) / (2 * tau * z * std::sqrt(pi)) * (1 - 0.5 / (z * z));
    }
    return std::exp(0.5 * a * a - x / tau) * std::erfc(z) / (2 * tau);
}

}  // namespace

std::function<double(double)> density(Form form, double at, double sigma, double tail) {
    switch (form) {
        case Form::modified: {
            double const tau = std::max(0.02, tail) * sigma;
            return [=](double t) { return modified(t - at + tau, sigma, tau); };
        }
        case Form::tanks: {  // counted from where a band of this skew begins
            double const n = std::max(12.0, 30 / std::max(0.1, tail)), each = sigma / std::sqrt(n);
            return [=](double t) {
                double const x = t - at + n * each;
                return x <= 0 ? 0.0
                              : std::exp((n - 1) * std::log(x / each) - x / each - std::lgamma(n)) /
                                    each;
            };
        }
        case Form::passage: {
            double const mean = 25 * sigma / std::max(0.2, tail),
                         lambda = mean * std::pow(mean / sigma, 2);
            return [=](double t) {
                double const x = t - at + mean;
                return x <= 0
                           ? 0.0
                           : std::sqrt(lambda / (2 * pi * x * x * x)) *
                                 std::exp(-lambda * std::pow(x - mean, 2) / (2 * mean * mean * x));
            };
        }
    }
    return {};
}

Truth measured(std::function<double(double)> const& shape, double at, double sigma) {
    Truth p;
    double const step = 0.002 * sigma;
    for (double t = at - 4 * sigma; t < at + 3 * sigma; t += step)
        if (double const v = shape(t); v > p.height) p.height = v, p.apex_s = t;
    double left = p.apex_s, right = p.apex_s;
    while (shape(left) > 0.5 * p.height) left -= step;
    while (shape(right) > 0.5 * p.height) right += step;
    p.width_half_s = right - left;
    return p;
}

}  // namespace gw::truth
