#pragma once
/// One detector's plot inside the figure of a trace: private to report.
#include <cmath>
#include <cstddef>
#include <string>

#include "report/canvas.hpp"
#include "report/trace_figure.hpp"

namespace gw::report {

struct Window {
    double from_s{}, to_s{};
    std::size_t first{}, last{};  // samples, both included
};
Window window_of(TraceFigure const& figure);

/// A plot with the row of labels above it.
struct Panel {
    Box plot;
    Window window;
    double band{};         // height of the row of labels, pt
    double low{}, high{};  // of the signal axis, unit
    bool root = false;     // heights go with the square root of what stands above `low`

    [[nodiscard]] double x(double t) const {
        return plot.x + (t - window.from_s) / (window.to_s - window.from_s) * plot.width;
    }
    [[nodiscard]] double y(double value) const {
        double const share = (value - low) / (high - low);
        return plot.bottom() -
               (root ? std::copysign(std::sqrt(std::abs(share)), share) : share) * plot.height;
    }
};

/// Round values of the signal axis for the panel's plot, and their numbers.
struct SignalTick {
    double value{};
    std::string words;
};
std::vector<SignalTick> signal_ticks(Panel const& panel, double size);

// size: of the letters, pt; all strokes go with it.
void draw_peaks(Canvas& canvas,
                Panel const& panel,
                trace::Trace const& trace,
                DetectorView const& view,
                double size);
void draw_signal(Canvas& canvas,
                 Panel const& panel,
                 trace::Trace const& trace,
                 DetectorView const& view,
                 double size);
/// open: a kick that no method names.
void draw_event(Canvas& canvas, Panel const& panel, double at_s, bool open, double size);
/// slant: angle of the labels to the level, radians.
void draw_labels(
    Canvas& canvas, Panel const& panel, DetectorView const& view, double slant, double size);
/// numbers: room for the numbers of the signal axis, the same for all panels of a figure.
void draw_axes(Canvas& canvas,
               Panel const& panel,
               std::string const& title,
               double numbers,
               bool with_times,
               double size);

}  // namespace gw::report
