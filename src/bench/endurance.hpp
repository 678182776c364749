#pragma once
/// How long a cylinder lasts: carrier gas that flows, or calibration gas taken run by run.
/// Formula: n = p V/(Z R T) at both pressures, Z of the real gas; volume at the reference of the
/// flow = (n1 - n2) R T0/p0.
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "base/quantity.hpp"
#include "base/result.hpp"
#include "gas/composition.hpp"

namespace gw::bench {

/// Z of pressure (Pa) and temperature (K).
using CompressionFactor = std::function<Result<double>(double p, double T)>;
CompressionFactor ideal_gas();
/// Z = 1 + B p/(R T), B in m3/mol.
CompressionFactor second_virial(double B);
/// GERG-2008. Fails for a gas that cannot be prepared.
Result<CompressionFactor> gerg2008_factor(gas::Composition const& gas);

struct EnduranceInputs {
    Measured water_volume;  ///< m3, of one cylinder
    double cylinders = 1;
    Measured p_now, p_least;  ///< Pa, absolute, at the temperature
    Measured temperature;     ///< K
    /// m3/s at the reference, all that leaves: flows, and what runs take. `daily_use` is added.
    Measured flow;
    Measured daily_use;  ///< m3 a day at the reference, as purges and runs
    double reference_p = 101325, reference_T = 288.15;
    double lead_time_s = 0;  ///< of a new cylinder; 0: no alarm level
    CompressionFactor Z;     ///< none: ideal
};
struct Endurance {
    double Z_now{}, Z_least{};
    Measured content;        ///< m3 at the reference, usable
    double ideal_content{};  ///< m3: what an ideal gas emptied to nothing would promise
    Measured time;           ///< s
    std::optional<double> alarm_pressure;  ///< Pa: twice the lead time is left (common practice)
    double cold_night_fall{};  ///< share of the reading lost by 25 K of cooling: not gas used
};
/// Refuses a least pressure that is not below the present one, and no use at all.
Result<Endurance> endurance(EnduranceInputs const& inputs);

}  // namespace gw::bench
