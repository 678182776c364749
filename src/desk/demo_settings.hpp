#pragma once
/// What the analyser of the demonstration would print of itself: its settings before and after the
/// exchange, and the series of its warm-up. All invented with the scenario.
#include <string>

#include "desk/demo.hpp"

namespace gw::desk {

/// Lines "setting,value,unit", in a fixed order: valve times, windows, calibration gas as typed,
/// factors, alarms. `module`: "old" (as found) or "new" (as left).
std::string demo_settings(Demo const& demo, std::string const& module);

/// Oven temperature, retention of methane and baseline, once a minute from power on until the
/// stage "settle" ends: an exponential approach with noise.
std::string demo_settling(DemoScenario const& scenario, Instant power_on, Instant until);

}  // namespace gw::desk
