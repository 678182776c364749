#pragma once
/// The twin as it is played with: opened once from its texts, then run again and again under
/// programmes whose events a person moves.
#include <string>
#include <vector>

#include "desk/oven_retime.hpp"

namespace gw::desk {

struct TwinBench {
    TwinMethod twin;
    std::vector<double> amounts;  ///< of the twin's species, in their order
    std::vector<std::string> warnings;
};
Result<TwinBench> twin_bench(std::string const& method, std::string const& gas);

/// The events of the file at other times. `programme`: an object for each event, {"at_s",
/// "action"}, the same actions as often as in the file. Refuses others, times outside of the cycle,
/// and an injection that moves (it is the zero of time).
Result<oven::Oven> with_events(TwinBench const& bench, Json const& programme);

/// {"programme", "detectors": [{"detector", "unit", "time_s", "signal"}], "peaks": [{"component",
/// "detector", "apex_s", "from_s", "to_s", "height", "width_half_s", "area", "limit_percent",
/// "lost_percent", "gained_percent"}], "calorific_value_error_percent", "warnings"}. A trace is
/// thinned to `most` points, no peak lost.
Json twin_run_json(TwinBench const& bench, oven::Oven const& oven, std::size_t most = 1500);

/// What is known of the twin itself: {"name", "cycle_s", "time_step_s", "programme", "detectors",
/// "columns", "warnings"}.
Json twin_bench_json(TwinBench const& bench);

}  // namespace gw::desk
