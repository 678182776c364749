#pragma once
/// GERG-2008 (O. Kunz, W. Wagner, J. Chem. Eng. Data 57 (2012) 3032; ISO 20765-2:2015; AGA 8 Part
/// 2): the terms of one composition. Density and properties come from equation_of_state.hpp.
#include "gas/wide_range.hpp"

namespace gw::gas {

WideRangeMixture gerg2008_mixture(EquationFractions const& x);

}  // namespace gw::gas
