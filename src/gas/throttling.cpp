#include "gas/throttling.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace gw::gas {

namespace {

constexpr int most_iterations = 60;

// Newton's step in T: the slope of enthalpy at constant pressure is cp.
Result<Temperature> temperature_of(PreparedGas const& gas,
                                   double enthalpy,
                                   Pressure p,
                                   Temperature start) {
    Temperature T = start;
    for (int i = 0; i < most_iterations; ++i) {
        GW_TRY(auto const state, fluid_state(gas, T, p));
        double const step = (enthalpy - state.enthalpy) / state.cp;
        if (std::abs(step) < 1e-9 * T.si) return T;
        T.si += std::clamp(step, -0.05 * T.si, 0.05 * T.si);
    }
    return fail(Errc::out_of_range,
                fmt::format("No temperature of equal enthalpy was settled at {:.6g} kPa, near "
                            "{:.2f} K.",
                            p.si / 1e3,
                            T.si),
                "pressure_kpa",
                "take an outlet pressure outside the two-phase region");
}

}  // namespace

Result<std::vector<ThrottledState>> throttled(PreparedGas const& gas,
                                              Temperature T,
                                              Pressure p,
                                              Pressure outlet,
                                              ThrottlingOptions const& options) {
    if (!(outlet.si > 0 && outlet.si < p.si))
        return fail(
            Errc::bad_input,
            fmt::format(
                "A regulator cannot lead from {:.6g} to {:.6g} kPa.", p.si / 1e3, outlet.si / 1e3),
            "outlet_kpa",
            "give an outlet pressure above zero and below the inlet pressure");
    GW_TRY(auto const inlet, fluid_state(gas, T, p));
    std::vector<ThrottledState> out{{T, p}};
    double const ratio = outlet.si / p.si;
    for (int k = 1; k <= options.steps; ++k) {
        Pressure const at{k == options.steps ? outlet.si
                                             : p.si * std::pow(ratio, double(k) / options.steps)};
        GW_TRY(auto const there, temperature_of(gas, inlet.enthalpy, at, out.back().T));
        out.push_back({there, at});
    }
    return out;
}

}  // namespace gw::gas
