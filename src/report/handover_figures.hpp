#pragma once
/// Small figures of the handover's sections.
#include <string>
#include <vector>

#include "report/canvas.hpp"

namespace gw::report {

struct DotPoint {
    std::string name;
    double value{};
};
/// One dot a name, with a stem to the line of zero and its value in words; names run below.
void draw_dots(Canvas& canvas,
               Box box,
               std::vector<DotPoint> const& points,
               std::string const& unit);

/// A quantity over time: an unbroken line, its axis in numbers. t: seconds; x is told in minutes
/// from the first. The scale leaves room for the last readings: where they come to rest is seen.
void draw_line(Canvas& canvas,
               Box box,
               std::vector<double> const& t,
               std::vector<double> const& y,
               std::string const& x_title);

}  // namespace gw::report
