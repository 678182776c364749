#pragma once
/// A trace as it is looked at: opened once from its bytes, then asked for stretches of it, thinned
/// to what a screen can show, and for the areas of peaks that a person placed by hand.
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "desk/trace_peaks.hpp"
#include "trace/hand_peak.hpp"

namespace gw::desk {

struct TraceView {
    trace::Trace trace;
    std::vector<trace::DetectorPeaks> found;  ///< one per detector
    TracePeaks peaks;                         ///< the same as `trace peaks` gives
    std::vector<trace::SignalEvent> events;   ///< of the method; else those seen in the signal
    std::optional<assay::Method> method;
    [[nodiscard]] std::size_t bytes() const;  ///< held in memory, about
};

/// bytes: any form of trace that is read. method: text of a method file; empty for none.
/// Refuses a printed report.
Result<TraceView> trace_view(std::string_view bytes,
                             std::string const& name,
                             std::optional<double> rate_hz,
                             std::string const& method);

/// The same trace with the names, events and ranges of a method.
Result<TraceView> trace_view_under(TraceView const& view, std::string const& method);

/// What is known without the samples: detectors, times, peaks, noise, events, warnings.
Json trace_view_json(TraceView const& view);

/// Samples of a stretch as numbers a browser takes without parsing, little-endian: how many (n,
/// 32 bits), 32 bits of zero, then n times (s), n signals and n baselines (unit), each a 64-bit
/// float. At most `most` samples, no peak lost; one sample more on either side of [from_s, to_s],
/// so that the line reaches the edge. Refuses a detector that is not there and a stretch that is
/// none.
struct Stretch {
    int detector = 1;
    double from_s{}, to_s{};
    std::size_t most = 4000;  ///< kept within 4 and 20 000
};
Result<std::string> stretch_bytes(TraceView const& view, Stretch const& stretch);

/// A peak as a person placed it beside what the program found there.
struct HandRequest {
    int detector = 1;
    trace::HandEnds ends;
    std::string component;  ///< as named in the table; may be empty
};
Result<Json> hand_peak_json(TraceView const& view, HandRequest const& request);

/// The decision of a person about a peak, as a file to be kept: who, why, the ends, the area with
/// them and without, the hash of the trace. `reason` must say something.
Result<Json> hand_decision(TraceView const& view,
                           HandRequest const& request,
                           std::string const& reason,
                           std::string const& who,
                           Instant at);

/// The figure of `trace draw` as "svg" or "png".
Result<std::string> trace_picture(TraceView const& view, std::string const& format);

/// Little-endian numbers in a row, for stretch_bytes and for series.
std::string number_block(std::vector<std::vector<double>> const& rows);

}  // namespace gw::desk
