#pragma once
/// All ways in which the peaks of a run may be the expected ones in their order, each with its
/// probability. For align() alone.
#include <array>
#include <cstdint>
#include <vector>

#include "assay/method.hpp"
#include "trace/peaks.hpp"

namespace gw::assay {

class NamePaths {
  public:
    /// How far a peak may stand from its time: shares of its window. Narrow for most, wide for a
    /// few, nothing beyond the limit (common practice, no source).
    struct Spread {
        double narrow, wide, share_wide, limit;
    };
    static constexpr Spread stated{0.30, 0.60, 0.1, 1.0};
    static constexpr Spread moved{0.12, 0.35, 0.03, 0.6};

    NamePaths(std::vector<trace::Peak> const& peaks, std::vector<ExpectedPeak> const& expected);

    /// Probability density of the peaks for these times, over that of as many peaks that stand
    /// anywhere. times: for each expected peak one time per origin; neighbours mostly share their
    /// origin. own: for each the time from an origin of its own, whatever its neighbours do; NaN:
    /// it has none. names[i x expected + e]: probability that peak i is e, if the times are these.
    double sum(std::vector<double> const& times,
               std::size_t origins,
               std::vector<double> const& own,
               Spread const& spread,
               std::vector<double>& names);

    /// After sum(): the time of each expected peak under its likeliest origin.
    [[nodiscard]] std::vector<double> likeliest_times(std::vector<double> const& times,
                                                      std::size_t origins,
                                                      std::vector<double> const& own,
                                                      std::vector<double> const& names) const;

  private:
    // Weights of all paths that have used so many peaks and expected ones, by what came last and
    // by the origin of the last name. Between two names all extra peaks come before all missing
    // ones: else each way would count many times.
    enum Last : std::uint8_t { named, extra, missing };
    [[nodiscard]] std::size_t at(std::size_t i, std::size_t j) const {
        return (i * (m_ + 1) + j) * origins_;
    }
    void forward(std::vector<double> const& fit);
    void backward(std::vector<double> const& fit);

    std::vector<trace::Peak> const& peaks_;
    std::vector<ExpectedPeak> const& expected_;
    std::size_t n_, m_, origins_{1};
    std::vector<double> extra_;  // by peak, over the density of peaks that stand anywhere
    double density_{};           // of those, 1/s
    std::array<std::vector<double>, 3> ahead_, behind_;
};

}  // namespace gw::assay
