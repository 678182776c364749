#pragma once
/// The use-case behind `gaswright trace convert`: any trace that is read, in our own text form or
/// in the open interchange layout.
#include <optional>
#include <string>
#include <vector>

#include "base/json.hpp"
#include "trace/trace.hpp"

namespace gw::desk {

struct TraceConvertRequest {
    std::string trace, output;  ///< the output's suffix decides: .csv, or .cdf and .nc
    std::optional<double> rate_hz;
    std::optional<int> detector;  ///< from 1; the interchange layout holds one
};

struct TraceConversion {
    std::string output, sha256;
    std::size_t samples{}, detectors{}, bytes{};
    std::vector<std::string> warnings;
};

/// Refuses a suffix it does not know before anything is read.
Result<TraceConversion> trace_convert(TraceConvertRequest const& request);
Json trace_convert_json(TraceConversion const& conversion);
std::string trace_convert_text(TraceConversion const& conversion);

}  // namespace gw::desk
