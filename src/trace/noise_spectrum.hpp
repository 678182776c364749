#pragma once
/// What the noise does over every length of time, told from the stretches where nothing stands, and
/// what it makes of a weighted sum of samples.
#include <array>
#include <cstddef>
#include <span>
#include <vector>

namespace gw::trace {

/// Noise as the sum of four independent kinds. Their covariances pass through any weights in one
/// walk over the bins, and together they follow whatever falls with frequency, from white noise to
/// a baseline that bends.
struct NoiseSpectrum {
    double bin_s{};    ///< s, length of a bin; 0: the run holds too little to tell
    double white{};    ///< unit^2, variance of a bin's mean that no other bin shares
    double flicker{};  ///< unit^2, variance of each octave of 1/f noise, from a bin's length on
    double walk{};     ///< unit^2/s, variance that a random walk gains in a second
    double bend{};     ///< unit^2/s^3, variance that the slope of the baseline gains in a second
    /// Of these four, in their order: how well so short a run can tell them. Nothing for a kind
    /// that it does not show.
    std::array<std::array<double, 4>, 4> covariance{};
};

/// Variance of sum over b of weight[b] x (mean of bin b), for noise of each kind with size 1, in
/// the order of NoiseSpectrum. For the last three the weights must add to nothing, and for the last
/// their first moment too: what a level and a slope would do is left out.
struct NoiseGain {
    double white{}, flicker{}, walk{}, bend{};
    [[nodiscard]] double variance(NoiseSpectrum const& n) const {
        return white * n.white + flicker * n.flicker + walk * n.walk + bend * n.bend;
    }
    /// Degrees of freedom of that variance (Welch and Satterthwaite: 2 v^2 / u^2(v)).
    [[nodiscard]] double degrees_of_freedom(NoiseSpectrum const& n) const;
};
NoiseGain noise_gain(std::span<double const> weight, double bin_s);

/// Samples to a bin: 0.16 s, fine enough for the narrowest peak, one sample where those are slower.
std::size_t samples_per_bin(double interval_s);

/// free[i]: nothing stands at sample i. breaks: samples at which the level may have jumped, in
/// order; nothing is compared across them. Method: each stretch is held against the mean of those
/// before and after it, at all distances from a bin to half the run; the sizes of the four kinds
/// are those of greatest composite likelihood (each comparison taken for normal and for
/// independent; multiplicative steps, which keep them positive). Own work after the idea of the
/// three-sample variance of frequency standards (IEEE Std 1139, from memory).
NoiseSpectrum noise_spectrum(std::span<double const> y,
                             std::vector<bool> const& free,
                             double interval_s,
                             std::span<std::size_t const> breaks);

}  // namespace gw::trace
