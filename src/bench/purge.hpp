#pragma once
/// How long, or how often, until what was in a volume is gone.
/// By flow through a stirred volume: C/C0 = exp(-Q t/V). By pressure and vent: C_n = C0 (p_low /
/// p_high)^n, absolute pressures. Real plumbing is not stirred: dead legs do not flush by flow.
#include "base/quantity.hpp"
#include "base/result.hpp"

namespace gw::bench {

struct FlowPurge {
    Measured volume;       ///< m3
    Measured flow;         ///< m3/s at the reference of pressure and temperature below
    Measured pressure;     ///< Pa, absolute, in the volume
    Measured temperature;  ///< K, in the volume
    double reference_p{};  ///< Pa, of the flow
    double reference_T{};  ///< K
    double from{}, to{};   ///< mol/mol
    Measured time{};       ///< s; 0: not asked
};
struct FlowPurgeAnswer {
    double volumes{};  ///< that must pass, at the volume's own state
    Measured time;     ///< s until `to`
    Measured left;     ///< mol/mol after `time`; value 0 when no time was given
};
Result<FlowPurgeAnswer> purge_by_flow(FlowPurge const& purge);

struct CyclePurge {
    Measured low, high;   ///< Pa, absolute
    double from{}, to{};  ///< mol/mol
    int cycles = 0;       ///< 0: not asked
};
struct CyclePurgeAnswer {
    Measured exact;  ///< cycles, not rounded
    int cycles{};    ///< whole ones
    Measured left;   ///< mol/mol after the cycles asked for, else after the whole ones
};
/// A whole number of cycles within 1e-9 of the exact one counts as it.
Result<CyclePurgeAnswer> purge_by_cycles(CyclePurge const& purge);

}  // namespace gw::bench
