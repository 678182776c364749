#pragma once
/// The vapour pressure of one component alone by a cubic equation: where its liquid and its vapour
/// have the same fugacity (Maxwell's equal areas).
#include <optional>

#include "gas/cubic.hpp"

namespace gw::gas {

/// Temperature, K, at which the only component of `mixture` boils at p, Pa. None at and above its
/// critical pressure, and where it would lie below 0.25 of the critical temperature.
std::optional<double> saturation_temperature(CubicMixture const& mixture, double p);

}  // namespace gw::gas
