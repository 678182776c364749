#include "trace/curvature.hpp"

#include <algorithm>
#include <cmath>

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

double white_noise_gain(double scale_s, double interval_s) {
    return gain_of(kernel_for(scale_s / interval_s));
}

double curvature_at(std::span<double const> y, std::size_t i, double interval_s, double scale_s) {
    auto const kernel = kernel_for(scale_s / interval_s);
    auto const n = static_cast<std::ptrdiff_t>(y.size()), at = static_cast<std::ptrdiff_t>(i);
    double r = kernel[0] * y[i];
    for (std::ptrdiff_t k = 1; k < static_cast<std::ptrdiff_t>(kernel.size()); ++k)
        r += kernel[static_cast<std::size_t>(k)] *
             (y[static_cast<std::size_t>(std::max<std::ptrdiff_t>(at - k, 0))] +
              y[static_cast<std::size_t>(std::min(at + k, n - 1))]);
    return r;
}

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
    auto const kernel = kernel_for(scale_s / out.interval_s);
    auto const half = static_cast<std::ptrdiff_t>(kernel.size()) - 1;
    out.white_gain = gain_of(kernel) / std::sqrt(static_cast<double>(block));
    auto const n = static_cast<std::ptrdiff_t>(in.size());
    out.response.assign(in.size(), 0.0);
    // Beyond the ends the signal is taken as mirrored about the end point: no edge becomes a peak.
    auto const sample = [&](std::ptrdiff_t i) {
        if (i < 0) return 2 * in[0] - in[static_cast<std::size_t>(std::min(-i, n - 1))];
        if (i >= n)
            return 2 * in[static_cast<std::size_t>(n - 1)] -
                   in[static_cast<std::size_t>(std::max<std::ptrdiff_t>(2 * (n - 1) - i, 0))];
        return in[static_cast<std::size_t>(i)];
    };
    for (std::ptrdiff_t i = 0; i < n; ++i) {
        double r = kernel[0] * in[static_cast<std::size_t>(i)];
        if (i >= half && i + half < n) {
            double const* centre = in.data() + i;
            for (std::ptrdiff_t k = 1; k <= half; ++k)
                r += kernel[static_cast<std::size_t>(k)] * (centre[-k] + centre[k]);
        } else {
            for (std::ptrdiff_t k = 1; k <= half; ++k)
                r += kernel[static_cast<std::size_t>(k)] * (sample(i - k) + sample(i + k));
        }
        out.response[static_cast<std::size_t>(i)] = r;
    }
    return out;
}

std::vector<double> moving_mean(std::span<double const> y, std::size_t half_width) {
    std::vector<double> out(y.begin(), y.end());
    if (half_width == 0 || y.empty()) return out;
    std::vector<double> sums(y.size() + 1, 0.0);
    for (std::size_t i = 0; i < y.size(); ++i) sums[i + 1] = sums[i] + y[i];
    for (std::size_t i = 0; i < y.size(); ++i) {
        // The window shrinks on both sides alike near an end, so that a slope is not bent.
        std::size_t const h = std::min({half_width, i, y.size() - 1 - i});
        out[i] = (sums[i + h + 1] - sums[i - h]) / static_cast<double>(2 * h + 1);
    }
    return out;
}

}  // namespace gw::trace
