#pragma once
/// The figure of a run: its signals, the peaks that were found and what they stand on.
#include <optional>
#include <string>
#include <vector>

#include "assay/run.hpp"
#include "report/canvas.hpp"

namespace gw::report {

struct DetectorView {
    int detector = 1;                     ///< from 1
    std::vector<assay::NamedPeak> peaks;  ///< of this detector, in order of apex
    std::vector<float> baseline;          ///< unit of the signal, one per sample; empty: not drawn
    std::vector<trace::SignalEvent> kicks;  ///< found in the signal, named by no method
};

struct TraceFigure {
    std::string title, subtitle;
    trace::Trace trace;
    std::vector<DetectorView> detectors;     ///< drawn one above the other
    std::vector<trace::SignalEvent> events;  ///< valve events of the method
    std::optional<double> from_s, to_s;      ///< none: the whole run
};

struct TraceStyle {
    double type_size = 8;  ///< pt, of axes and labels
    bool key = true;       ///< what the strokes mean, and the valve events in words
    /// Heights by the square root, so that small peaks are seen beside a large one.
    bool square_root = false;
};

/// Draws inside `box`. Peaks are tinted down to their baseline, neighbours in different tints with
/// a line between; the signal is an unbroken line, the baseline dashed, valve events triangles at
/// the foot (open ones: kicks seen in the signal alone). Labels stand slanted in a row of their own
/// above the signal, led to their apex by a dotted line; a label carries the flags of its peak in
/// words.
void draw_trace(Canvas& canvas, Box box, TraceFigure const& figure, TraceStyle const& style = {});

/// The same in words: for those who cannot see the figure.
std::string trace_description(TraceFigure const& figure);

/// "n-butane (merged)", "? 46.4 s" for a peak without name.
std::string peak_label(assay::NamedPeak const& named);

}  // namespace gw::report
