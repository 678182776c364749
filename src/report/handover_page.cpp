#include <fmt/format.h>

#include <algorithm>

#include "base/text.hpp"
#include "report/comparison.hpp"
#include "report/handover.hpp"
#include "report/palette.hpp"
#include "report/verdict_mark.hpp"

namespace gw::report {

namespace {

constexpr double margin = 36;       // pt, half an inch: what every printer can do
constexpr double table_type = 6.8;  // pt
constexpr double fine_type = 6.2;   // pt

// Each part answers where it ended; the page runs downward.

double draw_head(Canvas& canvas, Handover const& h, double y) {
    double const width = canvas.size().width - 2 * margin;
    Type const site{15, true, false, ink}, tag{15, false, false, ink},
        fine{8.5, false, false, soft};
    auto const day = to_text(h.date);
    double const day_width = canvas.measure(day, tag).width;
    double const room = width - day_width - 16;
    double const site_width = std::min(canvas.measure(h.site, site).width, 0.72 * room);
    canvas.text({margin, y, site_width, 18}, h.site, site);
    canvas.text({margin + site_width + 9, y, room - site_width - 9, 18}, h.analyser, tag);
    canvas.text({margin + width - day_width, y, day_width, 18}, day, tag);
    y += 20;
    canvas.text({margin, y, 0.76 * width, 11}, h.occasion, fine);
    canvas.text({margin + 0.78 * width, y, 0.22 * width, 11},
                h.pages == 1 ? "Handover, one page" : "Handover, first page",
                fine,
                Align::right);
    y += 15;
    canvas.line({margin, y}, {margin + width, y}, {ink, 1.2, {}});
    return y + 7;
}

// A bar in ink across the page: it cannot be overlooked and cannot be cropped off unseen.
double draw_invented(Canvas& canvas, Handover const& h, double y) {
    if (h.invented.empty()) return y;
    double const width = canvas.size().width - 2 * margin;
    Type const loud{9.5, true, false, sheet}, fine{7.6, false, false, sheet};
    double const loud_width = canvas.measure("INVENTED DATA", loud).width,
                 x = margin + loud_width + 20;
    double const text = canvas.paragraph_height(margin + width - x - 8, h.invented, fine, 2);
    double const height = std::max(18.0, text + 8);
    canvas.fill(Box{margin, y, width, height}, ink);
    canvas.text({margin + 8, y + height / 2 - 5.6, loud_width, 12}, "INVENTED DATA", loud);
    canvas.paragraph(
        {x, y + (height - text) / 2, margin + width - x - 8, text}, h.invented, fine, 2);
    return y + height + 10;
}

double draw_answer(Canvas& canvas, Handover const& h, double y) {
    auto const answer = answer_of(h);
    double const width = canvas.size().width - 2 * margin;
    Type const large{25, true, false, colour(answer.verdict)}, lead{10.5, false, false, ink},
        second{8.6, false, false, soft};
    draw_mark(canvas, {margin + 11, y + 15.5}, 10, answer.verdict);
    double const x = margin + 30, room = margin + width - x;
    canvas.text({x, y, room, 30}, answer.heading, large);
    y += 32;
    y += canvas.paragraph({x, y, room, 40}, answer.evidence, lead, 3) + 4;
    if (!answer.before.empty())
        y += canvas.paragraph({x, y, room, 32}, answer.before, second, 3) + 2;
    if (!h.consequence.empty())
        y += canvas.paragraph({x, y, room, 22}, h.consequence, second, 2) + 2;
    return y + 9;
}

double heading(Canvas& canvas, std::string const& text, double y) {
    canvas.text({margin, y, canvas.size().width - 2 * margin, 12}, text, {9, true, false, ink});
    return y + 14;
}

double cautions_height(Canvas const& canvas,
                       std::vector<std::string> const& cautions,
                       double width) {
    double height = 14;
    for (auto const& c : cautions)
        height += canvas.paragraph_height(width - 20, c, {7.4, false, false, ink}, 2) + 2.2;
    return height + 4;
}

void draw_cautions(Canvas& canvas, std::vector<std::string> const& cautions, Box box) {
    canvas.fill(box, wash);
    canvas.fill(Box{box.x, box.y, 2.5, box.height}, ink);
    Type const type{7.4, false, false, ink};
    double y = box.y + 4;
    canvas.text({box.x + 10, y, box.width - 20, 10}, "Cautions", {7.4, true, false, ink});
    y += 10.5;
    for (auto const& c : cautions)
        y += canvas.paragraph({box.x + 10, y, box.width - 20, 20}, c, type, 2) + 2.2;
}

struct FootLine {
    std::string label, value;
};

std::vector<FootLine> identification(Handover const& h) {
    std::vector<std::string> tables;
    for (auto const& t : h.tables) tables.push_back(t.name + " " + t.sha256.substr(0, 12));
    std::vector<FootLine> lines{{fmt::format("Evidence, {} items", h.evidence.size()),
                                 "SHA-256 " + checksum_of(h.evidence)},
                                {"Data of this page", "SHA-256 " + data_checksum(h)},
                                {"Tables of constants", "SHA-256 " + checksum_of(h.tables)}};
    if (!tables.empty()) lines.push_back({"", joined(tables, "   ")});
    return lines;
}

constexpr double foot_line = 8.6;  // pt

void draw_identification(Canvas& canvas, Handover const& h, double y) {
    double const width = canvas.size().width - 2 * margin, label = 82;
    Type const type{fine_type, false, false, soft}, value{fine_type, false, false, ink};
    for (auto const& line : identification(h)) {
        if (!line.label.empty()) canvas.text({margin, y, label - 4, foot_line}, line.label, type);
        canvas.text({margin + label, y, width - label, foot_line}, line.value, value);
        y += foot_line;
    }
    y += 3;
    canvas.line({margin, y}, {margin + width, y}, {hair, 0.5, {}});
    y += 3;
    canvas.text({margin, y, 0.6 * width, foot_line},
                fmt::format("{}, tables {}", h.program, checksum_of(h.tables).substr(0, 12)),
                type);
    canvas.text(
        {margin + 0.62 * width, y, 0.38 * width, foot_line},
        fmt::format("{}Page 1 of {}", h.invented.empty() ? "" : "INVENTED DATA    ", h.pages),
        type,
        Align::right);
}

void draw_traces(Canvas& canvas, Handover const& h, Box box) {
    if (h.traces.empty()) {
        canvas.text(box, "No trace was handed over.", {8, false, true, soft});
        return;
    }
    double const gap = 14;
    auto const count = std::min<std::size_t>(h.traces.size(), 2);
    double const each =
        (box.width - gap * static_cast<double>(count - 1)) / static_cast<double>(count);
    for (std::size_t i = 0; i < count; ++i)
        draw_trace(canvas,
                   {box.x + static_cast<double>(i) * (each + gap), box.y, each, box.height},
                   h.traces[i],
                   {fine_type, false, true});
}

}  // namespace

Size size_of(Paper paper) {
    switch (paper) {
        case Paper::a4:
            return {210 * points_per_mm, 297 * points_per_mm};  // ISO 216
        case Paper::letter:
            return {612, 792};  // 8.5 by 11 inches
    }
    return {};
}

void draw_handover(Canvas& canvas, Handover const& h) {
    double const width = canvas.size().width - 2 * margin,
                 bottom = canvas.size().height - margin + 6;
    double y = draw_head(canvas, h, margin - 4);
    y = draw_invented(canvas, h, y);
    y = draw_answer(canvas, h, y);

    auto cautions = standing_cautions();
    cautions.insert(cautions.begin(), h.cautions.begin(), h.cautions.end());
    if (cautions.size() > 6) {
        auto const more = cautions.size() - 6;
        cautions.erase(cautions.begin() + 3,
                       cautions.begin() + 3 + static_cast<std::ptrdiff_t>(more));
        cautions.insert(cautions.begin() + 3,
                        fmt::format("{} further cautions are in the data of this page.", more));
    }
    double const identification_height =
        foot_line * (static_cast<double>(identification(h).size()) + 1) + 6;
    double const cautions_room = cautions_height(canvas, cautions, width);
    double const foot = bottom - identification_height;
    double const cautions_top = foot - 7 - cautions_room;

    // The findings take what they need, but leave the traces a fifth of the page; the traces take
    // the rest.
    auto const rows = paired(h.as_found, h.as_left);
    double const traces_least = h.traces.empty() ? 24 : 0.23 * canvas.size().height;
    y = heading(canvas, "Findings, as found against as left", y);
    double const room = cautions_top - 10 - traces_least - 14 - 8 - y;
    double const needed = comparison_head_height(table_type) +
                          comparison_row_height(table_type) * static_cast<double>(rows.size()) +
                          comparison_foot_height(table_type);
    double const table = std::min(room, needed);
    draw_comparison(canvas, {margin, y, width, table}, rows, table_type);
    y += table + 8;
    if (!h.traces.empty())
        canvas.text({margin + 60, y + 1.8, width - 60, 9},
                    "unbroken: signal, heights by square root; dashed: baseline; tinted: area of a "
                    "peak; triangles: valve events",
                    {fine_type, false, false, soft},
                    Align::right);
    y = heading(canvas, "Traces", y);
    draw_traces(canvas, h, {margin, y, width, cautions_top - 10 - y});
    draw_cautions(canvas, cautions, {margin, cautions_top, width, cautions_room});
    draw_identification(canvas, h, foot);
}

Result<std::string> handover_pdf(Handover const& handover, Paper paper) {
    DocumentInfo info;
    info.title = fmt::format("Handover: {}, {}, {}{}",
                             handover.site,
                             handover.analyser,
                             to_text(handover.date),
                             handover.invented.empty() ? "" : " (INVENTED DATA)");
    info.created = handover.date;
    return render(Format::pdf, size_of(paper), info, [&](Canvas& canvas) {
        draw_handover(canvas, handover);
    });
}

}  // namespace gw::report
