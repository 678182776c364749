#pragma once
/// A verdict as shape and as word; the colour only repeats what they say.
#include <string>

#include "metrology/metrology.hpp"
#include "report/canvas.hpp"

namespace gw::report {

/// meets: full disc; fails: full square on its corner; unclear: ring half filled; missing and
/// not_yet: dashed ring; not_applicable and no_limit: a bar.
void draw_mark(Canvas& canvas, Point centre, double radius, metrology::Verdict verdict);
std::string word(metrology::Verdict verdict);  ///< "not yet", "no limit"
Ink colour(metrology::Verdict verdict);

}  // namespace gw::report
