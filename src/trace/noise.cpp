#include "trace/noise.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <memory>
#include <numbers>

namespace gw::trace {

namespace {

// What std::nth_element puts in the middle, of many values in little more than one pass: a sample
// of them brackets it, and only what lies in the bracket is sorted out. The values may be moved
// about.
double middle_of(std::vector<double>& values) {
    constexpr std::size_t few = 1024, looked_at = 255, spread = 20;
    std::size_t const n = values.size(), middle = n / 2;
    if (n >= few) {
        std::array<double, looked_at> sample{};
        for (std::size_t k = 0; k < looked_at; ++k)
            sample[k] = values[(2 * k + 1) * n / (2 * looked_at)];
        std::sort(sample.begin(), sample.end());
        double const low = sample[looked_at / 2 - spread], high = sample[looked_at / 2 + spread];
        auto const inside = std::make_unique_for_overwrite<double[]>(n);
        std::size_t below = 0, count = 0;
        for (double const v : values) {
            below += static_cast<std::size_t>(v < low);
            inside[count] = v;
            count += static_cast<std::size_t>(v >= low) & static_cast<std::size_t>(v <= high);
        }
        if (below <= middle && middle < below + count) {
            auto* const at = inside.get() + (middle - below);
            std::nth_element(inside.get(), at, inside.get() + count);
            return *at;
        }
    }
    auto const at = values.begin() + static_cast<std::ptrdiff_t>(middle);
    std::nth_element(values.begin(), at, values.end());
    return *at;
}

}  // namespace

double robust_sd(std::vector<double> values) {
    if (values.size() < 2) return 0;
    double const centre = middle_of(values);
    for (double& v : values) v = std::abs(v - centre);
    return 1.4826 * middle_of(values);  // makes it consistent for a normal distribution
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

FastNoise fast_noise(std::span<double const> y) {
    if (y.size() < 8) return {};
    double const q = quantum(y), white = white_noise(y);
    return {std::max(white, q / std::sqrt(12.0)), white < 0.45 * q ? q : 0};
}

}  // namespace gw::trace
