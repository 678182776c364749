#include "report/handover_figures.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.hpp"
#include "report/label_layout.hpp"
#include "report/palette.hpp"

namespace gw::report {

namespace {

constexpr double size = 6.2;  // pt

// One decimal with its sign; a nothing has none.
std::string signed_words(double value) {
    auto const text = fixed(value, 1);
    return value > 0 && text != "0.0" ? "+" + text : text;
}

}  // namespace

void draw_dots(Canvas& canvas,
               Box box,
               std::vector<DotPoint> const& points,
               std::string const& unit) {
    if (points.empty()) return;
    Type const words{size, false, false, soft}, bold{size, false, false, ink};
    double largest = 1e-9;
    for (auto const& point : points) largest = std::max(largest, std::abs(point.value));
    // Names stand slanted below; the longest asks for its room.
    double longest = 0;
    for (auto const& point : points)
        longest = std::max(longest, canvas.measure(point.name, words).width);
    double const slant = 0.9, foot = std::sin(slant) * longest + 13;
    Box const plot{box.x + 34, box.y + 10, box.width - 44, box.height - foot - 14};
    auto const y_of = [&](double value) {
        return plot.y + plot.height / 2 - 0.42 * plot.height * value / largest;
    };
    auto const ticks = round_ticks(-largest, largest, 5);
    for (double const tick : ticks) {
        canvas.line({plot.x, y_of(tick)}, {plot.right(), y_of(tick)}, {hair, 0.4, {}});
        canvas.text({box.x, y_of(tick) - 0.6 * size, 30, 8},
                    fixed(tick, tick_decimals(ticks)) + " " + unit,
                    words,
                    Align::right);
    }
    canvas.line({plot.x, y_of(0)}, {plot.right(), y_of(0)}, {ink, 0.7, {}});
    double const step = plot.width / static_cast<double>(points.size());
    for (std::size_t i = 0; i < points.size(); ++i) {
        double const x = plot.x + step * (static_cast<double>(i) + 0.5), y = y_of(points[i].value);
        canvas.line({x, y_of(0)}, {x, y}, {accent, 0.8, {}});
        canvas.disc({x, y}, 2.2, accent);
        bool const above = points[i].value >= 0;
        canvas.text({x - step / 2, above ? y - 10 : y + 3, step, 8},
                    signed_words(points[i].value),
                    bold,
                    Align::centre);
        // Read upward to its dot: the end of the name stands below the middle of its step.
        double const length = canvas.measure(points[i].name, words).width;
        canvas.turned({x - std::cos(slant) * length, plot.bottom() + 11 + std::sin(slant) * length},
                      slant,
                      length + 1,
                      points[i].name,
                      words);
    }
}

void draw_line(Canvas& canvas,
               Box box,
               std::vector<double> const& t,
               std::vector<double> const& y,
               std::string const& x_title) {
    if (t.size() < 2 || t.size() != y.size() || !(t.back() > t.front())) return;
    Type const words{size, false, false, soft};
    auto const [low, high] = std::minmax_element(y.begin(), y.end());
    double const spread = std::max(*high - *low, 1e-9);
    double const bottom = *low - 0.05 * spread, top = *high + 0.05 * spread;
    Box const plot{box.x + 34, box.y + 4, box.width - 40, box.height - 26};
    double const minutes = (t.back() - t.front()) / 60;
    auto const x_of = [&](double s) {
        return plot.x + plot.width * (s - t.front()) / (t.back() - t.front());
    };
    auto const y_of = [&](double value) {
        return plot.bottom() - plot.height * (value - bottom) / (top - bottom);
    };
    auto const across = round_ticks(0, minutes, 6), up = round_ticks(bottom, top, 4);
    for (double const tick : across) {
        double const x = x_of(t.front() + 60 * tick);
        canvas.line({x, plot.bottom()}, {x, plot.bottom() + 2.5}, {soft, 0.5, {}});
        canvas.text({x - 18, plot.bottom() + 4, 36, 8},
                    fixed(tick, tick_decimals(across)),
                    words,
                    Align::centre);
    }
    for (double const tick : up) {
        canvas.line({plot.x, y_of(tick)}, {plot.right(), y_of(tick)}, {hair, 0.4, {}});
        canvas.text({box.x, y_of(tick) - 0.6 * size, 30, 8},
                    fixed(tick, tick_decimals(up)),
                    words,
                    Align::right);
    }
    canvas.text({plot.x, plot.bottom() + 13, plot.width, 8}, x_title, words, Align::centre);
    std::vector<Point> line;
    for (std::size_t i = 0; i < t.size(); ++i) line.push_back({x_of(t[i]), y_of(y[i])});
    canvas.path(line, {accent, 0.9, {}});
    canvas.line({plot.x, plot.y}, {plot.x, plot.bottom()}, {soft, 0.6, {}});
    canvas.line({plot.x, plot.bottom()}, {plot.right(), plot.bottom()}, {soft, 0.6, {}});
}

}  // namespace gw::report
