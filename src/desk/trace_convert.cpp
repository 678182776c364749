#include "desk/trace_convert.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "base/file.hpp"
#include "base/hash.hpp"
#include "desk/load.hpp"
#include "trace/netcdf.hpp"
#include "trace/trace_file.hpp"

namespace gw::desk {

namespace {

bool ends_with(std::string const& text, std::string_view suffix) {
    return text.size() > suffix.size() &&
           text.compare(text.size() - suffix.size(), suffix.size(), suffix) == 0;
}

}  // namespace

Result<TraceConversion> trace_convert(TraceConvertRequest const& request) {
    bool const netcdf = ends_with(request.output, ".cdf") || ends_with(request.output, ".nc");
    if (!netcdf && !ends_with(request.output, ".csv") && request.output != "-")
        return fail(Errc::bad_input,
                    fmt::format("\"{}\" says by no suffix what to write.", request.output),
                    "-o",
                    "end it with .csv for text, or .cdf or .nc for the netCDF interchange layout");
    GW_TRY(auto run, load_run(request.trace, request.rate_hz));
    auto* trace = std::get_if<trace::Trace>(&run);
    if (trace == nullptr)
        return fail(Errc::bad_input,
                    "This is a printed report; it has no signal to convert.",
                    request.trace,
                    "give the detector's trace");
    auto const detectors = static_cast<int>(trace->signals.size());
    if (request.detector && (*request.detector < 1 || *request.detector > detectors))
        return fail(Errc::bad_input,
                    fmt::format("The trace has no detector {}.", *request.detector),
                    "--detector",
                    fmt::format("choose 1 to {}", detectors));
    if (netcdf && !request.detector && detectors > 1)
        return fail(Errc::bad_input,
                    fmt::format("The trace has {} detectors and the interchange layout holds one.",
                                detectors),
                    "--detector",
                    fmt::format("choose 1 to {}, and write a file for each", detectors));
    TraceConversion out;
    out.output = request.output;
    out.samples = trace->samples();
    out.warnings = trace->warnings;
    std::string bytes;
    if (netcdf) {
        if (!trace->start)
            out.warnings.emplace_back(
                "The trace does not say when it began: injection_date_time_stamp, which the layout "
                "asks for, is left out.");
        if (!trace->gaps.empty())
            out.warnings.push_back(
                fmt::format("The layout knows no gaps: {} of them are written as straight lines.",
                            trace->gaps.size()));
        GW_TRY(bytes, trace::netcdf_bytes(*trace, request.detector.value_or(1)));
        out.detectors = 1;
    } else {
        if (request.detector)
            trace->signals = {trace->signals[static_cast<std::size_t>(*request.detector) - 1]};
        out.detectors = trace->signals.size();
        bytes = trace::trace_csv(*trace);
    }
    out.bytes = bytes.size();
    out.sha256 = sha256(bytes);
    GW_CHECK(write_file(request.output, bytes));
    return out;
}

Json trace_convert_json(TraceConversion const& c) {
    return Json{{"output", c.output},
                {"sha256", c.sha256},
                {"bytes", c.bytes},
                {"samples", c.samples},
                {"detectors", c.detectors},
                {"warnings", c.warnings}};
}

std::string trace_convert_text(TraceConversion const& c) {
    return fmt::format("{}: {} samples, {} detector{}, {} bytes\nSHA-256 {}\n",
                       c.output,
                       c.samples,
                       c.detectors,
                       c.detectors == 1 ? "" : "s",
                       c.bytes,
                       c.sha256);
}

}  // namespace gw::desk
