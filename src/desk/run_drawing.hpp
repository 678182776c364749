#pragma once
/// One run as a page draws it: every detector's trace thinned so that no peak is lost, its
/// baseline, its peaks, the valve events. Shape: "Drawn" of data/api.
#include <optional>

#include "assay/method.hpp"
#include "base/json.hpp"
#include "desk/load.hpp"
#include "trace/signal.hpp"

namespace gw::desk {

/// Without a method peaks have no names and there are no events. A printed report has no trace: its
/// `detectors` are empty. {"unit", "cycle_s", "events", "detectors", "warnings", "trace_hash"}
Json drawn_run(trace::Trace const& trace, std::optional<assay::Method> const& method);
Json drawn_run(Run const& run, std::optional<assay::Method> const& method);

}  // namespace gw::desk
