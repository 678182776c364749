#pragma once
/// The calorific value of a composition as a distribution (JCGM 101), beside first-order
/// propagation of the same inputs.
#include "gas/property_sums.hpp"
#include "metrology/monte_carlo.hpp"

namespace gw::assay {

struct CalorificDistribution {
    Measured linear;                    ///< MJ/m3, ISO 6976 with full covariance and tables
    metrology::MonteCarlo monte_carlo;  ///< same inputs, drawn
};

/// gas: sums to one, C6+ expanded, with covariance. Amounts are drawn from a normal law with that
/// covariance and scaled to one; the property tables enter as one normal quantity of the size that
/// ISO 6976 gives them alone.
Result<CalorificDistribution> calorific_distribution(
    gas::Composition const& gas,
    gas::Iso6976Options const& reference,
    metrology::MonteCarloOptions const& options = {});

}  // namespace gw::assay
