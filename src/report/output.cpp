#include "report/output.hpp"

#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <cairo.h>
#include <fmt/format.h>

#include <cmath>
#include <map>
#include <memory>

#include "base/text.hpp"
#include "report/markup.hpp"

namespace gw::report {

namespace {

struct DestroySurface {
    void operator()(cairo_surface_t* surface) const { cairo_surface_destroy(surface); }
};
struct DestroyContext {
    void operator()(cairo_t* context) const { cairo_destroy(context); }
};
struct DestroyOptions {
    void operator()(cairo_font_options_t* options) const { cairo_font_options_destroy(options); }
};
using Surface = std::unique_ptr<cairo_surface_t, DestroySurface>;

cairo_status_t append(void* bytes, unsigned char const* data, unsigned length) {
    static_cast<std::string*>(bytes)->append(reinterpret_cast<char const*>(data), length);
    return CAIRO_STATUS_SUCCESS;
}

Surface surface_of(Format format, Size size, std::string& bytes) {
    switch (format) {
        case Format::svg:
            return Surface(
                cairo_svg_surface_create_for_stream(append, &bytes, size.width, size.height));
        case Format::pdf:
            return Surface(
                cairo_pdf_surface_create_for_stream(append, &bytes, size.width, size.height));
        case Format::png:
            break;
    }
    double const scale = png_dots_per_inch / 72;
    return Surface(cairo_image_surface_create(CAIRO_FORMAT_RGB24,
                                              static_cast<int>(std::lround(size.width * scale)),
                                              static_cast<int>(std::lround(size.height * scale))));
}

void describe(cairo_surface_t* surface, DocumentInfo const& info) {
    auto const day = to_text(info.created) + "T00:00:00Z";
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, info.title.c_str());
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "gaswright");
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, day.c_str());
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_MOD_DATE, day.c_str());
}

// The library numbers its groups through the whole life of the program, and draws letters as
// shapes. Here the groups count from one again, and the words come back as title and description.
std::string finished_svg(std::string const& drawn, DocumentInfo const& info) {
    std::string out;
    std::map<std::string, std::size_t> numbers;
    std::string const word = "surface";
    for (std::size_t at = 0; at < drawn.size();) {
        auto const found = drawn.find(word, at);
        if (found == std::string::npos) {
            out += drawn.substr(at);
            break;
        }
        auto end = found + word.size();
        out += drawn.substr(at, end - at);
        std::string digits;
        while (end < drawn.size() && drawn[end] >= '0' && drawn[end] <= '9') digits += drawn[end++];
        if (!digits.empty())
            out += std::to_string(numbers.emplace(digits, numbers.size() + 1).first->second);
        at = end;
    }
    auto const root = out.find("<svg");
    auto const close = root == std::string::npos ? root : out.find('>', root);
    if (close == std::string::npos) return out;
    out.insert(
        close + 1,
        fmt::format(
            "\n<title>{}</title>\n<desc>{}</desc>", markup(info.title), markup(info.description)));
    return out.insert(close, " role=\"img\"");
}

using Context = std::unique_ptr<cairo_t, DestroyContext>;

Context context_of(cairo_surface_t* surface) {
    Context context(cairo_create(surface));
    // Hinting follows the screen; a printed page must not.
    std::unique_ptr<cairo_font_options_t, DestroyOptions> const plain(cairo_font_options_create());
    cairo_font_options_set_hint_style(plain.get(), CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(plain.get(), CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_antialias(plain.get(), CAIRO_ANTIALIAS_GRAY);
    cairo_set_font_options(context.get(), plain.get());
    return context;
}

Result<> require_sides(Size size) {
    for (double const side : {size.width, size.height})
        if (!(side >= 20 * points_per_mm - 1e-6 && side <= 2000 * points_per_mm + 1e-6))
            return fail(Errc::out_of_range,
                        fmt::format("A side of {} mm cannot be drawn.",
                                    shortest(std::round(side / points_per_mm * 100) / 100)),
                        "page",
                        "give sides from 20 to 2000 mm");
    return {};
}

Result<> finished(cairo_surface_t* surface, cairo_status_t status) {
    cairo_surface_finish(surface);
    if (status == CAIRO_STATUS_SUCCESS) status = cairo_surface_status(surface);
    if (status == CAIRO_STATUS_SUCCESS) return {};
    return fail(Errc::io,
                fmt::format("The page cannot be drawn ({}).", cairo_status_to_string(status)),
                "page",
                "try another format");
}

}  // namespace

Result<Format> format_of(std::string const& path, std::string const& option) {
    auto const dot = path.rfind('.');
    auto const suffix = dot == std::string::npos ? std::string() : lowered(path.substr(dot));
    if (suffix == ".svg") return Format::svg;
    if (suffix == ".png") return Format::png;
    if (suffix == ".pdf") return Format::pdf;
    return fail(Errc::bad_input,
                fmt::format("\"{}\" does not say which picture to make.", path),
                option,
                "end the name in .svg, .png or .pdf");
}

Result<std::string> render(Format format,
                           Size size,
                           DocumentInfo const& info,
                           std::function<void(Canvas&)> const& draw) {
    GW_CHECK(require_sides(size));
    std::string bytes;
    auto const surface = surface_of(format, size, bytes);
    auto context = context_of(surface.get());
    if (format == Format::pdf) describe(surface.get(), info);
    if (format == Format::png) {
        cairo_set_source_rgb(context.get(), 1, 1, 1);
        cairo_paint(context.get());
        cairo_scale(context.get(), png_dots_per_inch / 72, png_dots_per_inch / 72);
    }
    Canvas canvas(context.get(), size);
    draw(canvas);
    cairo_show_page(context.get());
    auto status = cairo_status(context.get());
    context.reset();
    if (status == CAIRO_STATUS_SUCCESS && format == Format::png)
        status = cairo_surface_write_to_png_stream(surface.get(), append, &bytes);
    GW_CHECK(finished(surface.get(), status));
    return format == Format::svg ? finished_svg(bytes, info) : bytes;
}

Result<std::string> render_pages(Size size,
                                 DocumentInfo const& info,
                                 std::vector<std::function<void(Canvas&)>> const& pages) {
    GW_CHECK(require_sides(size));
    std::string bytes;
    auto const surface = surface_of(Format::pdf, size, bytes);
    auto context = context_of(surface.get());
    describe(surface.get(), info);
    for (auto const& draw : pages) {
        Canvas canvas(context.get(), size);
        draw(canvas);
        cairo_show_page(context.get());
    }
    auto const status = cairo_status(context.get());
    context.reset();
    GW_CHECK(finished(surface.get(), status));
    return bytes;
}

void measured(Size size, std::function<void(Canvas&)> const& look) {
    cairo_rectangle_t const all{0, 0, size.width, size.height};
    Surface const surface(cairo_recording_surface_create(CAIRO_CONTENT_COLOR_ALPHA, &all));
    auto const context = context_of(surface.get());
    Canvas canvas(context.get(), size);
    look(canvas);
}

}  // namespace gw::report
