#pragma once
/// The standard uncertainty that the noise gives to an area, however the samples were weighted:
/// what the background beneath takes from the samples it was laid through counts with them.
#include "trace/survey.hpp"

namespace gw::trace {

class AreaNoise {
  public:
    AreaNoise(Survey const& survey, Regions const& regions);
    /// Of dt x sum over k of weight[k] x (signal above the background)[first + k], unit x s.
    [[nodiscard]] double u(std::size_t first, std::span<double const> weight) const;

  private:
    Survey const& survey_;
    Regions const& regions_;
    std::size_t bin_;                // samples
    std::vector<double> free_part_;  // of each bin
};

}  // namespace gw::trace
