#pragma once
/// The ideal-gas part of GERG-2008 and AGA 8 DETAIL: Kunz and Wagner (2012), one set of
/// coefficients for both, each with its own gas constant. Enthalpy and entropy of every component
/// are zero at 298.15 K and 101.325 kPa.
#include <array>

#include "gas/wide_range.hpp"

namespace gw::gas {

struct IdealGas {
    double alpha{};    ///< alpha_0 less ln(rho in mol/dm3)
    double alpha_t{};  ///< tau d alpha_0 / d tau
    double cv{};       ///< cv0 / R
};
/// x: mole fractions in the order of the equations; T in K; R: of the equation, J/(mol K).
IdealGas ideal_gas(EquationFractions const& x, double T, double R);

}  // namespace gw::gas
