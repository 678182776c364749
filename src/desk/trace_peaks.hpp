#pragma once
/// The use-case behind `gaswright trace peaks`: a trace in, its peaks out, named when a method says
/// how.
#include <optional>
#include <string>
#include <vector>

#include "assay/run.hpp"

namespace gw::desk {

struct TracePeaksRequest {
    std::string trace;
    std::optional<std::string> method;  ///< path
    std::optional<double> rate_hz;
};

struct TracePeaks {
    assay::RunAreas run;  ///< peaks of all detectors; names only with a method
    std::string unit;     ///< of the signal
    double duration_s{};
    std::size_t samples{};
};

Result<TracePeaks> trace_peaks(TracePeaksRequest const& request);

Json peak_json(assay::NamedPeak const& named);
Json trace_peaks_json(TracePeaks const& peaks);
std::string trace_peaks_text(TracePeaks const& peaks);
/// One line a peak, for every command that lists them.
std::string peaks_table(std::vector<assay::NamedPeak> const& peaks, std::string const& unit);

}  // namespace gw::desk
