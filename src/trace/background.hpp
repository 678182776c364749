#pragma once
/// The smooth background under the whole run: a penalised spline through the samples that belong to
/// no peak, free to step at a valve event. Method: cubic B-splines with a penalty on second
/// differences (Eilers and Marx, Statist. Sci. 11 (1996) 89). Preferred to a penalised line sample
/// by sample, whose equations lose all digits when it is stiff.
#include <cstddef>
#include <memory>
#include <span>
#include <vector>

namespace gw::trace {

struct BackgroundOptions {
    double stiffness_s = 90;      ///< waves much shorter than this are not followed
    std::vector<double> steps_s;  ///< times at which the level may change at once
};

/// A step of the level that the spline was free to take.
struct LevelStep {
    std::size_t at{};  ///< first sample after it
    double value{};    ///< unit
    double u{};        ///< standard uncertainty for noise of standard deviation 1 a sample
};

class Background {
  public:
    std::vector<LevelStep> steps;  ///< in order of time
    std::vector<double> level;     ///< one per sample
    double stiffness_s{};          ///< of the options it was laid with
    /// Standard uncertainty of the mean level over samples [first, last) for noise of standard
    /// deviation 1 a sample; large where no free sample is near.
    [[nodiscard]] double u_mean(std::size_t first, std::size_t last) const;
    /// The level is linear in the samples it was laid through: how much each of them moves the sum
    /// over k of weight[k] x level[first + k]. One value per bin of `bin` samples, for a sample at
    /// its middle; samples that are not free have no influence, whatever stands here for them.
    [[nodiscard]] std::vector<double> influence(std::size_t first,
                                                std::span<double const> weight,
                                                std::size_t bin,
                                                std::size_t bins) const;

  private:
    friend Background background(std::span<double const>,
                                 std::vector<bool> const&,
                                 double,
                                 double,
                                 BackgroundOptions const&);
    struct System;
    std::shared_ptr<System const> system_;
};

/// free[i]: sample i belongs to the background. interval_s: of y. With no free sample at all the
/// level is the least value of y.
Background background(std::span<double const> y,
                      std::vector<bool> const& free,
                      double start_s,
                      double interval_s,
                      BackgroundOptions const& options);

}  // namespace gw::trace
