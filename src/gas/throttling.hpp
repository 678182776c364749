#pragma once
/// What a regulator does to a gas: it lowers the pressure and keeps the enthalpy (Joule-Thomson).
/// Heat taken from the surroundings is left out, so that the true gas leaves no colder.
#include <vector>

#include "gas/equation_of_state.hpp"

namespace gw::gas {

struct ThrottlingOptions {
    int steps = 24;  ///< points of the way beyond the first, in equal ratios of pressure
};
struct ThrottledState {
    Temperature T;
    Pressure p;
};
/// The states of equal enthalpy from (T, p) to `outlet`, the first and the last included.
/// Fails with bad_input when `outlet` is not below p, with out_of_range where the equation has no
/// state. Says nothing of condensation on the way: see PhaseEnvelope. Cost: some 100 evaluations.
Result<std::vector<ThrottledState>> throttled(PreparedGas const& gas,
                                              Temperature T,
                                              Pressure p,
                                              Pressure outlet,
                                              ThrottlingOptions const& options = {});

}  // namespace gw::gas
