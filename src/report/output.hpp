#pragma once
/// From a drawing to the bytes of a file: SVG, PNG and PDF from the same strokes.
#include <functional>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "base/time.hpp"
#include "report/canvas.hpp"

namespace gw::report {

enum class Format { svg, png, pdf };
/// By the suffix, in either case. Refuses any other with bad_input; `option` names where it stood.
Result<Format> format_of(std::string const& path, std::string const& option);

struct DocumentInfo {
    std::string title;
    /// What the drawing says, for those who cannot see it: an SVG carries it as its description.
    std::string description;
    /// Stands as creation date in a PDF. Never the clock: the same input gives the same bytes.
    Date created;
};

inline constexpr double points_per_mm = 72 / 25.4;
inline constexpr double png_dots_per_inch = 200;

/// One page of `size` points. The same arguments and fonts give the same bytes. Fails with
/// out_of_range for a side that is not from 20 mm to 2 m, and with io when the page cannot be made.
Result<std::string> render(Format format,
                           Size size,
                           DocumentInfo const& info,
                           std::function<void(Canvas&)> const& draw);

/// A PDF of several pages, each drawn by its own function, in order. As render().
Result<std::string> render_pages(Size size,
                                 DocumentInfo const& info,
                                 std::vector<std::function<void(Canvas&)>> const& pages);

/// A canvas on which nothing is kept: for measuring before a page is drawn.
void measured(Size size, std::function<void(Canvas&)> const& look);

}  // namespace gw::report
