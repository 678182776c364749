#pragma once
/// How noisy a signal is, told from the signal itself.
#include <cstddef>
#include <span>
#include <vector>

namespace gw::trace {

/// Robust standard deviation: 1.4826 times the median absolute deviation from the median.
double robust_sd(std::vector<double> values);

struct FastNoise {
    /// Standard deviation of the fast noise from third differences, which peaks and drift hardly
    /// touch (robust; white noise assumed). Never below what the printed digits can show: a signal
    /// that moves in steps of q has at least q/sqrt(12).
    double sd{};
    /// The quantum where it is coarse against the noise, so that rounding makes plateaus that no
    /// averaging removes; 0 where noise of half a quantum or more blurs it.
    double grain{};
};
FastNoise fast_noise(std::span<double const> y);

/// Standard deviation, over all levels, of the mean error of rounding to steps of q under normal
/// noise of standard deviation sigma: what no averaging removes. From the Fourier series of the
/// rounding error, whose k-th term noise damps by exp(-2 (pi k sigma / q)^2); q/sqrt(12) without
/// noise.
double rounding_of_mean(double q, double sigma);

/// Smallest step between neighbouring samples, the resolution of the converter or of the printed
/// digits; 0 when samples do not repeat.
double quantum(std::span<double const> y);

}  // namespace gw::trace
