#pragma once
/// Is a fluid of this composition one phase? The tangent-plane test of M. L. Michelsen, Fluid Phase
/// Equilibria 9 (1982) 1, with a cubic equation.
#include "gas/cubic.hpp"

namespace gw::gas {

struct Stability {
    bool stable = true;
    /// Lowest reduced tangent-plane distance found; negative when the fluid splits.
    double distance{};
    bool settled = true;  ///< false: a search ran out of iterations; the answer is then doubtful
};

/// Searches from Wilson's vapour and liquid and from each of the components that could form a phase
/// of their own. Cost: 50 to 200 fugacity evaluations, far more close to the critical point.
/// `in_equilibrium`: ln of the amounts of a phase that is known to be in equilibrium with the feed
/// (on a dew line, the drop): its distance is nought, and a search that comes to it ends there.
Stability phase_stability(CubicMixture const& mixture,
                          std::span<double const> z,
                          Temperature T,
                          Pressure p,
                          std::span<double const> in_equilibrium = {});

}  // namespace gw::gas
