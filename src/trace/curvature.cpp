#include "trace/curvature.hpp"

#include <algorithm>
#include <cmath>

#include "base/wide.hpp"

namespace gw::trace {

namespace {

std::vector<double> block_means(std::span<double const> y, std::size_t block) {
    std::vector<double> out(y.size() / block);
    for (std::size_t b = 0; b < out.size(); ++b) {
        double sum = 0;
        for (std::size_t i = 0; i < block; ++i) sum += y[b * block + i];
        out[b] = sum / static_cast<double>(block);
    }
    return out;
}

// Half of the symmetric filter, scaled so that a Gaussian of the same scale answers with its
// height.
std::vector<double> kernel_for(double s) {
    auto const half = static_cast<std::ptrdiff_t>(std::ceil(4.5 * s)) + 1;
    std::vector<double> kernel(static_cast<std::size_t>(half) + 1);
    double sum = 0, moment = 0;
    for (std::size_t k = 0; k < kernel.size(); ++k) {
        double const u = static_cast<double>(k) / s;
        kernel[k] = (1 - u * u) * std::exp(-0.5 * u * u);
        sum += (k == 0 ? 1 : 2) * kernel[k];
    }
    double const mean =
        sum / static_cast<double>(2 * half + 1);  // so that a constant gives nothing
    for (std::size_t k = 0; k < kernel.size(); ++k) {
        double const u = static_cast<double>(k) / s;
        kernel[k] -= mean;
        moment += (k == 0 ? 1 : 2) * kernel[k] * std::exp(-0.5 * u * u);
    }
    for (double& w : kernel) w /= moment;
    return kernel;
}

double gain_of(std::vector<double> const& kernel) {
    double squares = kernel[0] * kernel[0];
    for (std::size_t k = 1; k < kernel.size(); ++k) squares += 2 * kernel[k] * kernel[k];
    return std::sqrt(squares);
}

}  // namespace

CurvatureFilter::CurvatureFilter(double scale_s, double interval_s)
    : half_(kernel_for(scale_s / interval_s)) {}

double CurvatureFilter::white_gain() const { return gain_of(half_); }

double CurvatureFilter::at(std::span<double const> y, std::size_t i) const {
    auto const n = static_cast<std::ptrdiff_t>(y.size()), at = static_cast<std::ptrdiff_t>(i);
    double r = half_[0] * y[i];
    for (std::ptrdiff_t k = 1; k < static_cast<std::ptrdiff_t>(half_.size()); ++k)
        r += half_[static_cast<std::size_t>(k)] *
             (y[static_cast<std::size_t>(std::max<std::ptrdiff_t>(at - k, 0))] +
              y[static_cast<std::size_t>(std::min(at + k, n - 1))]);
    return r;
}

namespace {

// Sixteen outputs side by side, each summed from the middle outward. `in` has `half` samples before
// it, and half + 16 behind.
constexpr std::size_t side_by_side = 16;

GW_WIDE void filter(double const* __restrict in,
                    double const* __restrict kernel,
                    std::size_t half,
                    std::size_t n,
                    double* __restrict out) {
    for (std::size_t i = 0; i < n; i += side_by_side) {
        double sum[side_by_side];
        for (std::size_t t = 0; t < side_by_side; ++t) sum[t] = kernel[0] * in[i + t];
        for (std::size_t k = 1; k <= half; ++k) {
            double const *before = in + i - k, *after = in + i + k;
            double const w = kernel[k];
            for (std::size_t t = 0; t < side_by_side; ++t) sum[t] += w * (before[t] + after[t]);
        }
        for (std::size_t t = 0; t < side_by_side; ++t) out[i + t] = sum[t];
    }
}

GW_WIDE void means_of(double const* __restrict sums,
                      std::size_t width,
                      std::size_t n,
                      double* __restrict out) {
    auto const count = static_cast<double>(width);
    for (std::size_t i = 0; i < n; ++i) out[i] = (sums[i + width] - sums[i]) / count;
}

}  // namespace

Curvature curvature(std::span<double const> y, double start_s, double interval_s, double scale_s) {
    // Six samples a scale are enough for this filter; decimating keeps the cost per scale constant.
    auto const block =
        std::max<std::size_t>(1, static_cast<std::size_t>(scale_s / (6 * interval_s)));
    Curvature out;
    out.scale_s = scale_s;
    out.interval_s = interval_s * static_cast<double>(block);
    out.start_s = start_s + 0.5 * (out.interval_s - interval_s);
    std::vector<double> coarse;
    std::span<double const> in = y;
    if (block > 1) {
        coarse = block_means(y, block);
        in = coarse;
    }
    if (in.empty()) return out;
    auto const kernel = kernel_for(scale_s / out.interval_s);
    auto const half = static_cast<std::ptrdiff_t>(kernel.size()) - 1;
    out.white_gain = gain_of(kernel) / std::sqrt(static_cast<double>(block));
    auto const n = static_cast<std::ptrdiff_t>(in.size());
    // Beyond the ends the signal is taken as mirrored about the end point: no edge becomes a peak.
    std::vector<double> padded(in.size() + 2 * static_cast<std::size_t>(half) + side_by_side);
    for (std::ptrdiff_t k = 1; k <= half; ++k) {
        padded[static_cast<std::size_t>(half - k)] =
            2 * in[0] - in[static_cast<std::size_t>(std::min(k, n - 1))];
        padded[static_cast<std::size_t>(half + n - 1 + k)] =
            2 * in[static_cast<std::size_t>(n - 1)] -
            in[static_cast<std::size_t>(std::max<std::ptrdiff_t>(n - 1 - k, 0))];
    }
    std::copy(in.begin(), in.end(), padded.begin() + half);
    out.response.resize(in.size() + side_by_side);
    filter(padded.data() + half,
           kernel.data(),
           static_cast<std::size_t>(half),
           in.size(),
           out.response.data());
    out.response.resize(in.size());
    return out;
}

std::vector<double> moving_mean(std::span<double const> y, std::size_t half_width) {
    std::vector<double> out(y.begin(), y.end());
    if (half_width == 0 || y.empty()) return out;
    std::vector<double> sums(y.size() + 1, 0.0);
    for (std::size_t i = 0; i < y.size(); ++i) sums[i + 1] = sums[i] + y[i];
    // The window shrinks on both sides alike near an end, so that a slope is not bent.
    auto const shrunk = [&](std::size_t i) {
        std::size_t const h = std::min({half_width, i, y.size() - 1 - i});
        out[i] = (sums[i + h + 1] - sums[i - h]) / static_cast<double>(2 * h + 1);
    };
    std::size_t const n = y.size(), whole = n > 2 * half_width ? n - 2 * half_width : 0;
    for (std::size_t i = 0; i < std::min(half_width, n); ++i) shrunk(i);
    means_of(sums.data(), 2 * half_width + 1, whole, out.data() + std::min(half_width, n));
    for (std::size_t i = half_width + whole; i < n; ++i) shrunk(i);
    return out;
}

}  // namespace gw::trace
