#pragma once
/// AGA 8 DETAIL (AGA8-92DC; AGA Report No. 8 Part 1; ISO 12213-2; ISO 20765-1): the terms of one
/// composition. A gas equation: it has no liquid. Density and properties come from
/// equation_of_state.hpp.
#include "gas/wide_range.hpp"

namespace gw::gas {

WideRangeMixture detail_mixture(EquationFractions const& x);

}  // namespace gw::gas
