#pragma once
/// What leaves the chains becomes detector signal: bins of time, then the cell's first-order lag.
#include <map>
#include <utility>
#include <vector>

#include "oven/curve.hpp"
#include "oven/simulate.hpp"

namespace gw::oven {

class Collector {
  public:
    explicit Collector(Oven const& oven);
    /// Adds `per_share` x what the curve carries, booked to this peak at this detector.
    void add(gas::Component reported_as,
             std::size_t detector,
             Curve const& curve,
             double per_share);
    [[nodiscard]] std::size_t samples() const { return samples_; }
    [[nodiscard]] std::vector<PeakSignal> signals() const;

  private:
    struct Bins {
        gas::Component reported_as;
        std::size_t detector{};
        std::vector<double> amount;  ///< per fine step
        double area{};
    };
    std::vector<double> lag_s_;        ///< by detector
    std::size_t samples_{}, fine_{1};  ///< fine steps a sample
    double step_s_{};                  ///< of a fine step
    std::vector<Bins> bins_;
};

}  // namespace gw::oven
