#include "report/canvas.hpp"

#include <pango/pangocairo.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <numbers>

namespace gw::report {

namespace {

// Liberation Sans when it is there; its metrics are common. Else DejaVu Sans, else what the machine
// calls sans. A PDF carries a subset of the font it was made with, so a reader needs none of them.
constexpr char const* families = "Liberation Sans,DejaVu Sans,sans-serif";

struct Unref {
    void operator()(gpointer object) const { g_object_unref(object); }
};
struct FreeDescription {
    void operator()(PangoFontDescription* description) const {
        pango_font_description_free(description);
    }
};
using Layout = std::unique_ptr<PangoLayout, Unref>;

std::string valid_utf8(std::string_view text) {
    std::unique_ptr<char, decltype(&g_free)> const mended(
        g_utf8_make_valid(text.data(), static_cast<gssize>(text.size())), &g_free);
    return mended.get();
}

Layout layout_of(cairo_t* context, std::string_view text, Type const& type) {
    Layout layout(pango_cairo_create_layout(context));
    auto* pango = pango_layout_get_context(layout.get());
    // Nothing of the machine's screen or language may move a letter: the same input, the same page.
    pango_context_set_language(pango, pango_language_from_string("en"));
    pango_context_set_round_glyph_positions(pango, FALSE);
    std::unique_ptr<PangoFontDescription, FreeDescription> const font(pango_font_description_new());
    pango_font_description_set_family_static(font.get(), families);
    pango_font_description_set_absolute_size(font.get(), type.size * PANGO_SCALE);
    pango_font_description_set_weight(font.get(),
                                      type.bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
    pango_font_description_set_style(font.get(),
                                     type.italic ? PANGO_STYLE_ITALIC : PANGO_STYLE_NORMAL);
    pango_layout_set_font_description(layout.get(), font.get());
    auto const valid = valid_utf8(text);
    pango_layout_set_text(layout.get(), valid.c_str(), static_cast<int>(valid.size()));
    return layout;
}

Layout line_of(cairo_t* context, std::string_view text, Type const& type, double longest) {
    auto layout = layout_of(context, text, type);
    pango_layout_set_single_paragraph_mode(layout.get(), TRUE);
    pango_layout_set_ellipsize(layout.get(), PANGO_ELLIPSIZE_END);
    // A hundredth of a point of grace: a width that was measured must hold the text it measured.
    pango_layout_set_width(
        layout.get(), static_cast<int>(std::ceil((std::max(longest, 0.0) + 0.01) * PANGO_SCALE)));
    return layout;
}

Layout block_of(
    cairo_t* context, std::string_view text, Type const& type, double width, int most_lines) {
    auto layout = layout_of(context, text, type);
    pango_layout_set_width(layout.get(), static_cast<int>(width * PANGO_SCALE));
    pango_layout_set_wrap(layout.get(), PANGO_WRAP_WORD_CHAR);
    pango_layout_set_ellipsize(layout.get(), PANGO_ELLIPSIZE_END);
    pango_layout_set_height(layout.get(), -most_lines);
    return layout;
}

Box ink_of(PangoLayout* layout) {
    PangoRectangle ink{};
    pango_layout_get_extents(layout, &ink, nullptr);
    return {pango_units_to_double(ink.x),
            pango_units_to_double(ink.y),
            pango_units_to_double(ink.width),
            pango_units_to_double(ink.height)};
}

Size logical_of(PangoLayout* layout) {
    PangoRectangle logical{};
    pango_layout_get_extents(layout, nullptr, &logical);
    return {pango_units_to_double(logical.width), pango_units_to_double(logical.height)};
}

void use(cairo_t* context, Ink ink) { cairo_set_source_rgb(context, ink.red, ink.green, ink.blue); }

void stroke(cairo_t* context, Pen const& pen) {
    use(context, pen.ink);
    cairo_set_line_width(context, pen.width);
    cairo_set_line_join(context, CAIRO_LINE_JOIN_ROUND);
    cairo_set_dash(context, pen.dash.data(), static_cast<int>(pen.dash.size()), 0);
    cairo_stroke(context);
}

void trail(cairo_t* context, std::span<Point const> points) {
    cairo_new_path(context);
    for (auto const& p : points) cairo_line_to(context, p.x, p.y);
}

}  // namespace

void Canvas::line(Point from, Point to, Pen const& pen) {
    std::vector<Point> const both{from, to};
    path(both, pen);
}

void Canvas::path(std::span<Point const> points, Pen const& pen) {
    trail(context_, points);
    stroke(context_, pen);
}

void Canvas::outline(std::span<Point const> corners, Pen const& pen) {
    trail(context_, corners);
    cairo_close_path(context_);
    stroke(context_, pen);
}

void Canvas::fill(std::span<Point const> corners, Ink ink) {
    trail(context_, corners);
    use(context_, ink);
    cairo_fill(context_);
}

void Canvas::fill(Box box, Ink ink) {
    cairo_rectangle(context_, box.x, box.y, box.width, box.height);
    use(context_, ink);
    cairo_fill(context_);
}

void Canvas::frame(Box box, Pen const& pen) {
    cairo_rectangle(context_, box.x, box.y, box.width, box.height);
    stroke(context_, pen);
}

void Canvas::disc(Point centre, double radius, Ink ink) {
    cairo_new_path(context_);
    cairo_arc(context_, centre.x, centre.y, radius, 0, 2 * std::numbers::pi);
    use(context_, ink);
    cairo_fill(context_);
}

void Canvas::ring(Point centre, double radius, Pen const& pen) {
    cairo_new_path(context_);
    cairo_arc(context_, centre.x, centre.y, radius, 0, 2 * std::numbers::pi);
    stroke(context_, pen);
}

void Canvas::half_disc(Point centre, double radius, Ink ink) {
    cairo_new_path(context_);
    cairo_arc(
        context_, centre.x, centre.y, radius, -0.5 * std::numbers::pi, 0.5 * std::numbers::pi);
    use(context_, ink);
    cairo_fill(context_);
}

Size Canvas::measure(std::string_view text, Type const& type) const {
    auto const layout = layout_of(context_, text, type);
    pango_layout_set_single_paragraph_mode(layout.get(), TRUE);
    return logical_of(layout.get());
}

void Canvas::text(Box box, std::string_view text, Type const& type, Align align) {
    auto const layout = line_of(context_, text, type, box.width);
    double const spare = box.width - logical_of(layout.get()).width;
    double const x = box.x + (align == Align::left ? 0 : align == Align::right ? spare : spare / 2);
    use(context_, type.ink);
    cairo_move_to(context_, x, box.y);
    pango_cairo_show_layout(context_, layout.get());
    auto const ink = ink_of(layout.get());
    double const left = x + ink.x, top = box.y + ink.y;
    placed_.push_back({std::string(text),
                       {{left, top},
                        {left + ink.width, top},
                        {left + ink.width, top + ink.height},
                        {left, top + ink.height}}});
}

double Canvas::paragraph(Box box, std::string_view text, Type const& type, int most_lines) {
    auto const layout = block_of(context_, text, type, box.width, most_lines);
    use(context_, type.ink);
    cairo_move_to(context_, box.x, box.y);
    pango_cairo_show_layout(context_, layout.get());
    auto const ink = ink_of(layout.get());
    double const left = box.x + ink.x, top = box.y + ink.y;
    placed_.push_back({std::string(text),
                       {{left, top},
                        {left + ink.width, top},
                        {left + ink.width, top + ink.height},
                        {left, top + ink.height}}});
    return logical_of(layout.get()).height;
}

double Canvas::paragraph_height(double width,
                                std::string_view text,
                                Type const& type,
                                int most_lines) const {
    return logical_of(block_of(context_, text, type, width, most_lines).get()).height;
}

void Canvas::turned(
    Point anchor, double angle, double longest, std::string_view text, Type const& type) {
    auto const layout = line_of(context_, text, type, longest);
    double const height = logical_of(layout.get()).height;
    cairo_save(context_);
    cairo_translate(context_, anchor.x, anchor.y);
    cairo_rotate(context_, -angle);
    use(context_, type.ink);
    cairo_move_to(context_, 0, -height / 2);
    pango_cairo_show_layout(context_, layout.get());
    cairo_restore(context_);
    auto const ink = ink_of(layout.get());
    auto const corner = [&](double along, double down) {
        double const c = std::cos(angle), s = std::sin(angle);
        return Point{anchor.x + along * c + down * s, anchor.y - along * s + down * c};
    };
    double const top = ink.y - height / 2;
    placed_.push_back({std::string(text),
                       {corner(ink.x, top),
                        corner(ink.x + ink.width, top),
                        corner(ink.x + ink.width, top + ink.height),
                        corner(ink.x, top + ink.height)}});
}

Canvas::Clip::Clip(cairo_t* context, Box box) : context_(context) {
    cairo_save(context_);
    cairo_rectangle(context_, box.x, box.y, box.width, box.height);
    cairo_clip(context_);
}

Canvas::Clip::~Clip() { cairo_restore(context_); }

bool overlap(PlacedText const& a, PlacedText const& b) {
    // Separating axes: two rectangles are apart when the edges of one of them show a gap.
    for (auto const* side : {&a.corners, &b.corners})
        for (std::size_t i = 0; i < 2; ++i) {
            Point const along{(*side)[i + 1].x - (*side)[i].x, (*side)[i + 1].y - (*side)[i].y};
            auto const shadow = [&](std::vector<Point> const& corners) {
                double low = 1e300, high = -1e300;
                for (auto const& p : corners) {
                    double const at = p.x * along.x + p.y * along.y;
                    low = std::min(low, at);
                    high = std::max(high, at);
                }
                return std::pair(low, high);
            };
            auto const of_a = shadow(a.corners), of_b = shadow(b.corners);
            if (of_a.second <= of_b.first || of_b.second <= of_a.first) return false;
        }
    return true;
}

}  // namespace gw::report
