#pragma once
/// A sheet to draw on, in points from its upper left corner, the same for every output format.
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

using cairo_t = struct _cairo;  // NOLINT(bugprone-reserved-identifier): the library's own name

namespace gw::report {

struct Point {
    double x{}, y{};
};
struct Size {
    double width{}, height{};  ///< pt
};
struct Box {
    double x{}, y{}, width{}, height{};  ///< pt, from the upper left corner
    [[nodiscard]] double right() const { return x + width; }
    [[nodiscard]] double bottom() const { return y + height; }
};

struct Ink {
    double red{}, green{}, blue{};  ///< 0 to 1; always opaque, so that a page prints as it looks
};
struct Pen {
    Ink ink;
    double width = 0.6;        ///< pt
    std::vector<double> dash;  ///< pt on, off, on, ...; empty: unbroken
};
struct Type {
    double size = 8;  ///< pt
    bool bold = false, italic = false;
    Ink ink;
};
enum class Align { left, centre, right };

/// Where the ink of one text came to lie: the corners of its rectangle, which may be turned.
struct PlacedText {
    std::string text;  ///< as asked for, before any ellipsis
    std::vector<Point> corners;
};
/// True when the two rectangles share some area (turned or not).
bool overlap(PlacedText const& a, PlacedText const& b);

/// Draws on one page and notes where every text lies. Texts are measured before they are placed;
/// what does not fit its room ends in an ellipsis. Text that is no UTF-8 is mended, not refused.
class Canvas {
  public:
    Canvas(cairo_t* context, Size size) : context_(context), size_(size) {}
    [[nodiscard]] Size size() const { return size_; }

    void line(Point from, Point to, Pen const& pen);
    void path(std::span<Point const> points, Pen const& pen);
    void outline(std::span<Point const> corners, Pen const& pen);  ///< closed
    void fill(std::span<Point const> corners, Ink ink);
    void fill(Box box, Ink ink);
    void frame(Box box, Pen const& pen);
    void disc(Point centre, double radius, Ink ink);
    void ring(Point centre, double radius, Pen const& pen);
    void half_disc(Point centre, double radius, Ink ink);  ///< the right half

    /// Size of one unbroken line.
    [[nodiscard]] Size measure(std::string_view text, Type const& type) const;
    /// One line at the top of `box`, no wider than it.
    void text(Box box, std::string_view text, Type const& type, Align align = Align::left);
    /// Wrapped to the width of `box`, at most `most_lines` lines; answers the height taken.
    double paragraph(Box box, std::string_view text, Type const& type, int most_lines);
    [[nodiscard]] double paragraph_height(double width,
                                          std::string_view text,
                                          Type const& type,
                                          int most_lines) const;
    /// One line turned by `angle` (radians, counter-clockwise); `anchor` is the middle of its left
    /// edge, `longest` the room along it.
    void turned(
        Point anchor, double angle, double longest, std::string_view text, Type const& type);

    /// Nothing is drawn outside `box` until the answer is destroyed.
    class Clip {
      public:
        Clip(cairo_t* context, Box box);
        ~Clip();
        Clip(Clip const&) = delete;
        Clip& operator=(Clip const&) = delete;

      private:
        cairo_t* context_;
    };
    [[nodiscard]] Clip clip(Box box) { return Clip(context_, box); }

    [[nodiscard]] std::vector<PlacedText> const& placed() const { return placed_; }

  private:
    cairo_t* context_;
    Size size_;
    std::vector<PlacedText> placed_;
};

}  // namespace gw::report
