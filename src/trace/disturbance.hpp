#pragma once
/// What valves leave in the signal: a jump that no peak can make, decaying within seconds. Found by
/// its sudden onset, at known valve times or elsewhere, and taken off before peaks are looked for.
#include <cstdint>
#include <span>
#include <vector>

#include "trace/kick_fit.hpp"
#include "trace/peaks.hpp"

namespace gw::trace {

struct Disturbance {
    double at_s{};    ///< onset
    double end_s{};   ///< when it has died away
    double height{};  ///< unit, signed: its largest departure
    double step{},
        step_u{};     ///< unit: what stays after it, taken off too; its standard uncertainty
    bool known{};     ///< near an event of the method
    bool removed{};   ///< its shape was taken off the signal; otherwise its samples were bridged
    KickShape shape;  ///< what was taken off; no decay where it was bridged
};

/// Whether the signal breaks off at sample `at`, a known event's. Not a kick.
enum class BreaksOff : std::uint8_t {
    no,
    back,   ///< a flank that falls to the level from before the peak and stays there
    front,  ///< one that begins at once and goes on rising
};
BreaksOff breaks_off(std::span<double const> y, std::size_t at, double interval_s, double noise);

/// Takes the disturbances off `y` (in place). noise: standard deviation of y. events_s: known valve
/// times. narrowest_s: half width of the narrowest real peak. suspects: samples at which a kick too
/// weak to be seen at once may start.
std::vector<Disturbance> remove_disturbances(std::span<double> y,
                                             double start_s,
                                             double interval_s,
                                             double noise,
                                             std::span<SignalEvent const> events,
                                             double narrowest_s,
                                             std::span<std::size_t const> suspects = {});

}  // namespace gw::trace
