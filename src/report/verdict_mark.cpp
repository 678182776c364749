#include "report/verdict_mark.hpp"

#include <algorithm>

#include "report/palette.hpp"

namespace gw::report {

using metrology::Verdict;

void draw_mark(Canvas& canvas, Point centre, double radius, Verdict verdict) {
    auto const tone = colour(verdict);
    double const line = std::max(0.16 * radius, 0.6);
    switch (verdict) {
        case Verdict::meets:
            canvas.disc(centre, radius, tone);
            return;
        case Verdict::fails: {
            double const r = 1.12 * radius;
            std::vector<Point> const corners{{centre.x, centre.y - r},
                                             {centre.x + r, centre.y},
                                             {centre.x, centre.y + r},
                                             {centre.x - r, centre.y}};
            canvas.fill(corners, tone);
            return;
        }
        case Verdict::unclear:
            canvas.ring(centre, radius - line / 2, {tone, line, {}});
            canvas.half_disc(centre, radius, tone);
            return;
        case Verdict::not_yet:
        case Verdict::missing:
            canvas.ring(centre, radius - line / 2, {tone, line, {0.5 * radius, 0.4 * radius}});
            return;
        case Verdict::not_applicable:
        case Verdict::no_limit:
            canvas.fill(Box{centre.x - radius, centre.y - 0.15 * radius, 2 * radius, 0.3 * radius},
                        tone);
            return;
    }
}

std::string word(Verdict verdict) {
    std::string text(metrology::name(verdict));
    std::replace(text.begin(), text.end(), '_', ' ');
    return text;
}

Ink colour(Verdict verdict) {
    switch (verdict) {
        case Verdict::meets:
            return accent;
        case Verdict::fails:
            return alarm;
        case Verdict::unclear:
            return doubt;
        case Verdict::not_yet:
        case Verdict::missing:
        case Verdict::not_applicable:
        case Verdict::no_limit:
            return soft;
    }
    return soft;
}

}  // namespace gw::report
