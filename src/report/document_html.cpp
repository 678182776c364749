// The document on a screen: one file, no script, nothing fetched. Pictures are inside as SVG with
// their description, marks are shapes and words.
#include <fmt/format.h>

#include "base/text.hpp"
#include "report/comparison.hpp"
#include "report/document.hpp"
#include "report/markup.hpp"
#include "report/verdict_mark.hpp"

namespace gw::report {

namespace {

using metrology::Verdict;

constexpr double picture_width = 520, pair_width = 360;  // pt

constexpr std::string_view style = R"(
body{font:15px/1.45 "Liberation Sans","DejaVu Sans",sans-serif;color:#171f26;background:#fff;margin:0 auto;max-width:62rem;padding:1rem}
h1{font-size:1.7rem;margin:.6rem 0 .2rem}h2{font-size:1.25rem;border-bottom:2px solid #171f26;margin-top:2rem}h3{font-size:1rem;margin:1.2rem 0 .3rem}
table{border-collapse:collapse;width:100%;font-size:.85rem;margin:.4rem 0}caption{text-align:left;font-weight:bold;padding:.3rem 0}
th,td{border-bottom:1px solid #ccc9c0;padding:.2rem .4rem;text-align:left;vertical-align:top;overflow-wrap:anywhere}th{border-bottom:2px solid #171f26}
.right{text-align:right}.centre{text-align:center}.soft{color:#4a5459}.strong,.fails{font-weight:bold}
.caution{border-left:6px solid #171f26;background:#f4f2ed;padding:.4rem .8rem;margin:.6rem 0}.invented{background:#171f26;color:#fff;padding:.4rem .8rem;font-weight:bold}
.answer{font-size:1.5rem;font-weight:bold;margin:.4rem 0}.pen{border-bottom:1px solid #4a5459;margin:1.4rem 0 .4rem}
.pictures{display:flex;flex-wrap:wrap;gap:1rem}figure{margin:.5rem 0;flex:1 1 20rem}img{max-width:100%;height:auto}
@media print{body{max-width:none;font-size:11px}h2,h3{break-after:avoid}tr,figure{break-inside:avoid}}
)";

std::string base64(std::string_view bytes) {
    static constexpr std::string_view signs =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    std::string out;
    for (std::size_t i = 0; i < bytes.size(); i += 3) {
        std::uint32_t three = 0;
        for (std::size_t j = 0; j < 3; ++j)
            three = three << 8U |
                    (i + j < bytes.size() ? static_cast<unsigned char>(bytes[i + j]) : 0U);
        for (std::size_t j = 0; j < 4; ++j)
            out += i + j <= bytes.size() ? signs[(three >> (18U - 6U * j)) & 63U] : '=';
    }
    return out;
}

std::string_view shape(Verdict verdict) {
    switch (verdict) {
        case Verdict::meets:
            return "\u25CF";
        case Verdict::fails:
            return "\u25C6";
        case Verdict::unclear:
            return "\u25D1";
        case Verdict::not_yet:
        case Verdict::missing:
            return "\u25CC";
        case Verdict::not_applicable:
        case Verdict::no_limit:
            return "\u2013";
    }
    return "";
}

class Page {
  public:
    explicit Page(Document const& document) : document_(document) {}

    Result<std::string> write() {
        head();
        for (auto const& block : document_.blocks)
            std::visit([this](auto const& what) { put(what); }, block);
        out_ += fmt::format(
            "<p class=\"soft\">{}; a record of measurements, and no authority to "
            "proceed with any work.</p>\n</body>\n</html>\n",
            markup(document_.first.program));
        if (failed_) return pass_on(*failed_);
        return std::move(out_);
    }

  private:
    void head() {
        auto const& first = document_.first;
        auto const answer = answer_of(first);
        auto const title = fmt::format("Handover: {}, {}", document_.name, to_text(first.date));
        out_ += fmt::format(
            "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta "
            "http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src "
            "'unsafe-inline'; img-src data:\">\n<meta name=\"viewport\" "
            "content=\"width=device-width\">\n<title>{}</title>\n<style>{}</style>\n</head>\n"
            "<body>\n",
            markup(title),
            style);
        if (!first.invented.empty())
            out_ += fmt::format("<p class=\"invented\">INVENTED DATA. {}</p>\n",
                                markup(first.invented));
        out_ += fmt::format("<h1>{}</h1>\n<p>{}</p>\n", markup(title), markup(first.occasion));
        out_ += fmt::format("<p class=\"answer\">{} {}</p>\n<p class=\"strong\">{}</p>\n",
                            shape(answer.verdict),
                            markup(answer.heading),
                            markup(answer.evidence));
        for (auto const* text : {&answer.before, &first.consequence})
            if (!text->empty()) out_ += fmt::format("<p>{}</p>\n", markup(*text));
        Pictures traces;
        for (auto const& figure : first.traces)
            traces.each.push_back({figure.title + ", " + figure.subtitle,
                                   trace_description(figure),
                                   260,
                                   [&figure](Canvas& canvas, Box box) {
                                       draw_trace(canvas, box, figure, {7, false, true});
                                   }});
        put(traces);
        CautionBox cautions{standing_cautions()};
        cautions.lines.insert(cautions.lines.begin(), first.cautions.begin(), first.cautions.end());
        put(cautions);
        out_ += fmt::format(
            "<p class=\"soft\">Evidence, {} items: SHA-256 {}<br>Data of the first "
            "page: SHA-256 {}<br>Tables of constants: SHA-256 {}</p>\n",
            first.evidence.size(),
            checksum_of(first.evidence),
            data_checksum(first),
            checksum_of(first.tables));
    }

    void put(Heading const& heading) {
        out_ += fmt::format("<h{0}>{1}</h{0}>\n", heading.level + 1, markup(heading.text));
    }
    void put(Paragraph const& paragraph) {
        out_ += fmt::format("<p class=\"{}{}\">{}</p>\n",
                            paragraph.strong ? "strong " : "",
                            paragraph.soft ? "soft" : "",
                            markup(paragraph.text));
    }
    void put(CautionBox const& box) {
        out_ += "<div class=\"caution\"><strong>Cautions</strong><ul>\n";
        for (auto const& line : box.lines) out_ += fmt::format("<li>{}</li>\n", markup(line));
        out_ += "</ul></div>\n";
    }
    static std::string_view side(Align align) {
        return align == Align::right ? "right" : align == Align::centre ? "centre" : "left";
    }
    void put(Table const& table) {
        if (!table.caption.empty()) put(Heading{table.caption, 2});
        if (table.rows.empty()) return put(Paragraph{table.if_empty, false, true});
        out_ += "<table>\n";
        bool titled = false;
        for (auto const& column : table.columns) titled = titled || !column.title.empty();
        if (titled) {
            out_ += "<thead><tr>";
            for (auto const& column : table.columns)
                out_ += fmt::format("<th scope=\"col\" class=\"{}\">{}</th>",
                                    side(column.align),
                                    markup(column.title));
            out_ += "</tr></thead>\n";
        }
        out_ += "<tbody>\n";
        for (auto const& row : table.rows) {
            out_ += "<tr>";
            for (std::size_t i = 0; i < row.size(); ++i) {
                auto const& cell = row[i];
                std::string words = markup(cell.text),
                            marks(side(i < table.columns.size() ? table.columns[i].align
                                                                : Align::left));
                if (cell.mark) {
                    words = fmt::format("{} {}{}{}",
                                        shape(*cell.mark),
                                        word(*cell.mark),
                                        cell.text.empty() ? "" : ": ",
                                        words);
                    if (*cell.mark == Verdict::fails) marks += " fails";
                }
                if (cell.strong) marks += " strong";
                out_ += fmt::format("<td class=\"{}\">{}</td>", marks, words);
            }
            out_ += "</tr>\n";
        }
        out_ += "</tbody></table>\n";
    }
    void put(Pictures const& pictures) {
        if (pictures.each.empty()) return;
        out_ += "<div class=\"pictures\">\n";
        double const width = pictures.each.size() > 1 ? pair_width : picture_width;
        for (auto const& picture : pictures.each) {
            DocumentInfo info;
            info.title = picture.title;
            info.description = picture.description;
            auto const svg =
                render(Format::svg, {width, picture.height}, info, [&](Canvas& canvas) {
                    picture.draw(canvas, {0, 0, width, picture.height});
                });
            if (!svg) {
                failed_ = svg.error();
                return;
            }
            out_ += fmt::format(
                "<figure><img alt=\"{}\" src=\"data:image/svg+xml;base64,{}\">"
                "<figcaption>{}</figcaption></figure>\n",
                markup(picture.description),
                base64(*svg),
                markup(picture.title));
        }
        out_ += "</div>\n";
    }
    void put(PenLine const& line) {
        out_ += fmt::format("<p class=\"pen\">{}</p>\n", markup(line.label));
    }
    void put(PageBreak const&) {}

    Document const& document_;
    std::string out_;
    std::optional<Error> failed_;
};

}  // namespace

Result<std::string> document_html(Document const& document) { return Page(document).write(); }

}  // namespace gw::report
