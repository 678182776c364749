#pragma once
/// Control charts as a figure: readings, centre, limits, EWMA, signals, breaks and the change point
/// with its interval; one panel a chart, one line of time under all.
#include <string>

#include "report/canvas.hpp"
#include "visit/chart.hpp"

namespace gw::report {

struct ChartFigure {
    std::string title;
    visit::Charts charts;
    trace::SeriesTable const* series = nullptr;  ///< for the words of time
};

/// Height in points that so many charts want at a width.
double chart_figure_height(ChartFigure const& figure);
void draw_charts(Canvas& canvas, Box box, ChartFigure const& figure);
/// What the figure says, for those who cannot see it.
std::string chart_description(ChartFigure const& figure);

}  // namespace gw::report
