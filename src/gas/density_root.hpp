#pragma once
/// The density at which an isotherm has a given pressure.
#include <optional>

#include "gas/wide_range.hpp"

namespace gw::gas {

enum class RootSearch {
    found,       ///< rho is the stable root
    none,        ///< no density up to the limit of the equation has this pressure
    not_settled  ///< the iteration did not settle: never seen, and never passed off as a root
};
struct DensityRoot {
    RootSearch search{};
    double rho{};       ///< mol/dm3
    int roots{};        ///< mechanically stable roots seen
    int evaluations{};  ///< of the isotherm
};

/// Above mixture.single_root_above: a bracketed third-order iteration from the second virial
/// coefficient, about four evaluations. Below: every piece of the isotherm between its extremes is
/// searched, and of the root of lowest and that of highest density the one with the lower Gibbs
/// energy is taken (an equation without liquid: the gas root if there is one); roots between them
/// belong to loops that no fluid has.
/// T in K, p in kPa, both positive.
DensityRoot density_root(WideRangeMixture const& mixture,
                         Isotherm const& isotherm,
                         double T,
                         double p);

}  // namespace gw::gas
