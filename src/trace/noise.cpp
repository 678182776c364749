#include "trace/noise.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

namespace gw::trace {

double robust_sd(std::vector<double> values) {
    if (values.size() < 2) return 0;
    auto const middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    double const centre = *middle;
    for (double& v : values) v = std::abs(v - centre);
    std::nth_element(values.begin(), middle, values.end());
    return 1.4826 * *middle;  // makes it consistent for a normal distribution
}

double quantum(std::span<double const> y) {
    double least = std::numeric_limits<double>::infinity();
    std::size_t equal = 0;
    for (std::size_t i = 1; i < y.size(); ++i) {
        double const step = std::abs(y[i] - y[i - 1]);
        if (step == 0) {
            ++equal;
        } else {
            least = std::min(least, step);
        }
    }
    // Without repeats the signal has no visible grain: the least step is chance, not a quantum.
    bool const grainy = equal * 200 > y.size() && std::isfinite(least);
    return grainy ? least : 0;
}

namespace {

double white_noise(std::span<double const> y) {
    std::vector<double> differences(y.size() - 3);
    for (std::size_t i = 0; i + 3 < y.size(); ++i)
        differences[i] = y[i + 3] - 3 * y[i + 2] + 3 * y[i + 1] - y[i];
    return robust_sd(std::move(differences)) / std::sqrt(20.0);  // 1 + 9 + 9 + 1
}

}  // namespace

double rounding_of_mean(double q, double sigma) {
    if (!(q > 0)) return 0;
    double squares = 0;
    for (int k = 1; k < 60; ++k) {
        double const damped = std::exp(-2 * std::pow(std::numbers::pi * k * sigma / q, 2));
        squares += 0.5 * std::pow(q * damped / (std::numbers::pi * k), 2);
    }
    return std::sqrt(squares);
}

double visible_grain(std::span<double const> y) {
    if (y.size() < 8) return 0;
    double const q = quantum(y);
    return white_noise(y) < 0.45 * q ? q : 0;
}

double fast_noise(std::span<double const> y) {
    if (y.size() < 8) return 0;
    return std::max(white_noise(y), quantum(y) / std::sqrt(12.0));
}

}  // namespace gw::trace
