#pragma once
/// The smoothed negative second derivative of a signal at one scale: large and positive at the top
/// of a peak as wide as the scale. The matched view in which peaks of one width stand out of the
/// noise.
#include <cstddef>
#include <span>
#include <vector>

namespace gw::trace {

struct Curvature {
    double scale_s{};              ///< standard deviation of the Gaussian it was smoothed with
    double interval_s{};           ///< of `response`; coarse scales are decimated
    double start_s{};              ///< time of response[0]
    std::vector<double> response;  ///< unit: equals the height of an isolated Gaussian peak of
                                   ///< sigma = scale at its apex
    double white_gain{};  ///< standard deviation of the response per unit standard deviation of
                          ///< white noise
};

/// start_s, interval_s: of y. scale_s at least 0.6 interval.
Curvature curvature(std::span<double const> y, double start_s, double interval_s, double scale_s);

/// The same at single samples, undecimated: the filter made once.
class CurvatureFilter {
  public:
    CurvatureFilter(double scale_s, double interval_s);
    [[nodiscard]] double at(std::span<double const> y, std::size_t i) const;
    [[nodiscard]] double white_gain() const;  ///< as of Curvature

  private:
    std::vector<double> half_;  // of the symmetric filter
};

/// y smoothed with a moving mean of about `width_s` (odd number of samples, shorter at the ends).
std::vector<double> moving_mean(std::span<double const> y, std::size_t half_width);

}  // namespace gw::trace
