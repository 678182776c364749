#pragma once
/// Which gas to calibrate with, and which reference gases to order for a range.
#include <vector>

#include "assay/performance.hpp"
#include "assay/range_draw.hpp"

namespace gw::assay {

/// A fixed handful of compositions of the range with what the detectors make of them, to compare
/// calibration gases on. Holds references: its arguments outlive it.
class CalibrationGases {
  public:
    CalibrationGases(PerformanceSpec const& spec,
                     std::vector<ResponseFunction> const& functions,
                     gas::PropertySums const& sums,
                     RangeDraw const& draw);
    /// Errors of the calorific value over the handful, calibrated with x (mol/mol).
    [[nodiscard]] CalibrationGasScore score(std::vector<double> x) const;
    /// Moves amount from one component to another while the score falls; steps halve.
    [[nodiscard]] CalibrationGasScore best(PerformanceSpec const& spec,
                                           CalibrationGasScore start) const;

  private:
    std::vector<ResponseFunction> const& functions_;
    gas::PropertySums const& sums_;
    std::size_t n_;
    std::vector<double> area_, truth_;  // area_: one row a composition; truth_: calorific value
};

/// Seven gases that lie far from each other in every component: the first near the middle, each
/// next one of many drawn the furthest from its nearest neighbour (maximin).
std::vector<std::vector<double>> designed_gases(PerformanceSpec const& spec, RangeDraw const& draw);

}  // namespace gw::assay
