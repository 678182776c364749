#pragma once
/// The use-case behind `gaswright trace draw`: a trace in, its figure out, as SVG, PNG or PDF.
#include <optional>
#include <string>
#include <vector>

#include "assay/method.hpp"
#include "base/json.hpp"
#include "report/trace_figure.hpp"

namespace gw::desk {

struct TraceDrawRequest {
    std::string trace;
    std::optional<std::string> method;  ///< path
    std::optional<double> rate_hz;
    std::optional<double> from_s, to_s;    ///< none: the run's own ends
    std::optional<int> detector;           ///< from 1; none: all
    std::string output;                    ///< its suffix decides the format
    double width_mm = 240, height_mm = 0;  ///< height 0: by the number of detectors
};

struct TraceDrawing {
    std::string output;  ///< where it was written
    std::string sha256;  ///< of the bytes written
    std::size_t bytes{}, peaks{}, detectors{};
    std::vector<std::string> warnings;
};

/// Refuses, before anything is read or written, a suffix it does not know and sides out of range.
Result<TraceDrawing> trace_draw(TraceDrawRequest const& request);

/// The figure of a trace; names, events and detector range come from the method when there is one.
report::TraceFigure trace_figure(trace::Trace trace,
                                 assay::Method const* method,
                                 std::optional<int> detector = {});

Json trace_draw_json(TraceDrawing const& drawing);
std::string trace_draw_text(TraceDrawing const& drawing);

}  // namespace gw::desk
