#pragma once
/// Leak rate of a closed volume from the fall of its pressure, with both temperatures.
/// Formula: Q = V (p1 - p2 T1/T2) / t; in moles V/R (p1/T1 - p2/T2) / t (the form of US 40 CFR
/// 1065.644, which states it for a rise). Ideal gas: over so small a change of pressure Z cancels.
#include <optional>
#include <vector>

#include "base/quantity.hpp"
#include "base/result.hpp"

namespace gw::bench {

struct LeakTest {
    Measured volume;                 ///< m3
    Measured p1, p2;                 ///< Pa, absolute; u of one reading, its error from the other
    std::optional<Measured> T1, T2;  ///< K; without both nothing can be said of a leak
    Measured time;                   ///< s
};

struct LeakRate {
    Measured apparent;  ///< Pa m3/s: V (p1 - p2)/t, no correction for temperature
    /// Pa m3/s at T1; above zero: gas went out. None without temperatures.
    std::optional<Measured> rate;
    std::optional<Measured> molar;       ///< mol/s
    std::optional<Measured> fall;        ///< Pa: p1 - p2 T1/T2
    std::optional<double> threshold;     ///< Pa m3/s: a reading above it shows a leak (5 % false)
    std::optional<double> least_leak;    ///< Pa m3/s: a true leak that is shown in 95 of 100 tests
    std::optional<double> cooling_fall;  ///< Pa: what the change of temperature alone does
};
/// threshold 1.645 u, least leak 3.29 u, u the uncertainty at no leak (Currie 1968; ISO 11929).
/// Refuses a volume, time, pressure or temperature that is not above zero.
Result<LeakRate> leak_rate(LeakTest const& test);

/// s: how long to wait until a leak of `limit` is the least detectable; infinite without a limit.
double wait_for(LeakTest const& test, double limit);

}  // namespace gw::bench
