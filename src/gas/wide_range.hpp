#pragma once
/// A composition prepared for one of the two wide-range equations.
#include <array>

#include "gas/isotherm.hpp"

namespace gw::gas {

inline constexpr std::size_t equation_component_count = 21;
/// Mole fractions in the order of the equations' tables (data/gas/gerg2008.json), summing to one.
using EquationFractions = std::array<double, equation_component_count>;

/// Units of these figures are those of the publications: K, kPa, mol/dm3 and J/(mol K).
struct WideRangeMixture {
    EquationFractions x{};
    double R{};                     ///< the equation's own gas constant
    double molar_mass{};            ///< g/mol, the equation's own masses
    double reducing_density{};      ///< delta = rho / reducing_density
    double reducing_temperature{};  ///< tau = reducing_temperature / T
    /// Above this temperature pressure rises with density throughout: one density root at most.
    double single_root_above{};
    /// No liquid in the equation: the gas root is taken wherever there is one.
    bool gas_only = false;
    MixtureTerms terms;
};

}  // namespace gw::gas
