#pragma once
/// How old the gas is that an analyser reads: the way from the take-off to the loop.
/// Formula: t = V (p/p0)(T0/T)(Z0/Z)/Q0 of each section, p of a section with a pressure drop the
/// mean of a flowing line, 2/3 (p1^3 - p2^3)/(p1^2 - p2^2); volumes that mix (filters, drums) are
/// of first order: 95 % of a change is through after 3 V/Q more.
#include <optional>
#include <string>
#include <vector>

#include "base/quantity.hpp"
#include "base/result.hpp"
#include "gas/composition.hpp"

namespace gw::bench {

/// The mean pressure of a line in which gas flows from p1 to p2, Pa absolute; either order.
double mean_line_pressure(double p1, double p2);

struct LagSection {
    std::string name;
    Measured volume;       ///< m3; of tubing: bore and length (see tube_volume)
    Measured p_in, p_out;  ///< Pa, absolute; equal: no drop
    Measured temperature;  ///< K
    bool mixes = false;    ///< of first order, not a plug
    Measured flow;         ///< m3/s at the reference
};
Measured tube_volume(Measured const& length, Measured const& bore);

struct LagInputs {
    std::vector<LagSection> sections;
    double reference_p = 101325, reference_T = 273.15;  ///< of the flows
    std::optional<gas::Composition> gas;                ///< none: an ideal gas
    Measured cycle;  ///< s, of the analyser; 0: its part is left out
};
struct LagOfSection {
    std::string name;
    double volume{}, pressure{}, Z = 1;  ///< m3, Pa, Z relative to that at the reference
    Measured time;                       ///< s: of a plug its passage, of a mixer V/Q
};
struct Lag {
    std::vector<LagOfSection> sections;
    Measured plug;        ///< s: the first sign of a change
    Measured through_95;  ///< s: 95 % of a change has arrived
    /// s, of the value in use: lag and half a cycle when it is fresh, a cycle more just before the
    /// next (common practice, no source).
    Measured age_low, age_high, age_mean;
    std::vector<std::string> warnings;
};
/// Refuses an empty list, and figures that are not above zero. Through several mixers in a row 95 %
/// is found on the chain of stirred volumes, stepped in time.
Result<Lag> sample_lag(LagInputs const& inputs);

}  // namespace gw::bench
