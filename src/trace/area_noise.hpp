#pragma once
/// The standard uncertainty that the noise gives to an area, however the samples were weighted:
/// what the background beneath takes from the samples it was laid through counts with them.
#include "trace/survey.hpp"

namespace gw::trace {

class AreaNoise {
  public:
    AreaNoise(Survey const& survey, Regions const& regions);
    /// Weights of samples and what the background takes with them. Linear in the weights.
    struct Spread {
        std::size_t first{};
        std::vector<double> weight;  ///< of sample first + k
        std::vector<double> ground;  ///< of the free samples of each bin, through the background
    };
    [[nodiscard]] Spread spread(std::size_t first, std::vector<double> weight) const;
    /// Of dt x sum over k of weight[k] x (signal above the background)[first + k], unit x s.
    [[nodiscard]] double u(Spread const& spread) const;

  private:
    Survey const& survey_;
    Regions const& regions_;
    std::size_t bin_;                // samples
    std::vector<double> free_part_;  // of each bin
};

/// a's weights times `of_a` and b's times `of_b`; both begin at the same sample and are as many.
AreaNoise::Spread mixed(AreaNoise::Spread const& a,
                        double of_a,
                        AreaNoise::Spread const& b,
                        double of_b);

}  // namespace gw::trace
