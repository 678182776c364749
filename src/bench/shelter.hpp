#pragma once
/// Oxygen left in a room into which a gas without oxygen is released. Well mixed: C = C0
/// exp(-Vg/V) for a release at once; with ventilation Qv and a release Qg, dC/dt = (Qv C0 - (Qv +
/// Qg) C)/V. A room is not well mixed: near the leak, in pits and under ceilings there is less.
#include <optional>

#include "base/quantity.hpp"
#include "base/result.hpp"

namespace gw::bench {

inline constexpr double oxygen_of_air = 0.209;  ///< dry air, rounded as the entry values are

struct ShelterInputs {
    Measured room;         ///< m3, free volume
    Measured released;     ///< m3 at the state of the room, at once; 0: none
    Measured flow;         ///< m3/s, steady; 0: none
    Measured ventilation;  ///< m3/s of fresh air
    double time_s = 0;     ///< of the steady release; 0: until it settles
    double entry = 0.195;  ///< least oxygen to enter; European industrial-gas association Doc 44
};
struct Shelter {
    Measured at_once;                       ///< mol/mol after the release at once; air without one
    std::optional<Measured> steady;         ///< with the flow, when it has settled
    std::optional<Measured> at_time;        ///< after time_s of flow
    std::optional<double> time_to_entry_s;  ///< until oxygen falls below the entry value; none:
                                            ///< never
    Measured lowest;                        ///< of those that apply
};
Result<Shelter> oxygen_depletion(ShelterInputs const& inputs);

}  // namespace gw::bench
