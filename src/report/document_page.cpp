// The document on paper: blocks flow down the page, tables break between rows and repeat their
// titles. Everything is measured first, so that every page can say how many there are.
#include <fmt/format.h>

#include <algorithm>

#include "base/text.hpp"
#include "report/document.hpp"
#include "report/palette.hpp"
#include "report/verdict_mark.hpp"

namespace gw::report {

namespace {

constexpr double margin = 36, head_room = 22, foot_room = 14;  // pt
constexpr double gap = 14;                                     // between two pictures
// More than fits any page: a longer text ends in an ellipsis and is whole in the data.
constexpr int any_lines = 60;
constexpr double cell_pad = 2.6, row_pad = 1.7;

using Stroke = std::function<void(Canvas&)>;

class Flow {
  public:
    Flow(Canvas& measure, Size size) : measure_(measure), size_(size) { page(); }

    /// next: what stands after it, so that no heading is left alone at the foot of a page.
    void add(Block const& block, Block const* next) {
        next_ = next == nullptr
                    ? 0
                    : std::visit([this](auto const& what) { return least(what); }, *next);
        std::visit([this](auto const& what) { put(what); }, block);
    }
    std::vector<std::vector<Stroke>> take() { return std::move(pages_); }

  private:
    [[nodiscard]] double width() const { return size_.width - 2 * margin; }
    [[nodiscard]] double bottom() const { return size_.height - margin - foot_room + 8; }
    [[nodiscard]] bool at_top() const { return y_ <= top() + 0.1; }
    [[nodiscard]] static double top() { return margin + head_room - 8; }
    void page() {
        pages_.emplace_back();
        y_ = top();
    }
    void room(double height) {
        if (y_ + height > bottom() && !at_top()) page();
    }
    void stroke(Stroke what) { pages_.back().push_back(std::move(what)); }

    double text_height(double wide, std::string const& text, Type const& type) const {
        return text.empty() ? type.size * 1.2
                            : measure_.paragraph_height(wide, text, type, any_lines);
    }

    // What a block needs at least below a heading: its first lines, its first row, a whole picture.
    static double least(Heading const&) { return 80; }
    static double least(Paragraph const&) { return 60; }
    static double least(CautionBox const&) { return 40; }
    static double least(Table const& table) { return table.caption.empty() ? 50 : 75; }
    static double least(Pictures const& pictures) {
        double height = 0;
        for (auto const& picture : pictures.each) height = std::max(height, picture.height);
        return height + 12;
    }
    static double least(PenLine const&) { return 24; }
    static double least(PageBreak const&) { return 0; }

    void put(Heading const& heading) {
        bool const large = heading.level == 1;
        Type const type{large ? 12.0 : 9.0, true, false, ink};
        double const height = text_height(width(), heading.text, type);
        if (!at_top()) y_ += large ? 12 : 7;
        room(height + 7 + next_);  // never alone at the foot of a page
        double const y = y_;
        stroke([=, w = width(), text = heading.text](Canvas& canvas) {
            canvas.paragraph({margin, y, w, height}, text, type, any_lines);
            if (large)
                canvas.line({margin, y + height + 2}, {margin + w, y + height + 2}, {ink, 0.8, {}});
        });
        y_ += height + (large ? 7 : 3);
    }

    void put(Paragraph const& paragraph) {
        Type const type{8, paragraph.strong, false, paragraph.soft ? soft : ink};
        double const height = text_height(width(), paragraph.text, type);
        room(height);
        double const y = y_;
        stroke([=, w = width(), text = paragraph.text](Canvas& canvas) {
            canvas.paragraph({margin, y, w, height}, text, type, any_lines);
        });
        y_ += height + 4;
    }

    void put(CautionBox const& box) {
        Type const type{7.6, false, false, ink}, bold{7.6, true, false, ink};
        double const wide = width() - 20;
        bool first = true;
        for (std::size_t at = 0; at < box.lines.size();) {
            // As many lines as find room; the rest in a box of its own on the next page.
            double const head = 13;
            std::size_t until = at;
            double height = head + 3;
            while (until < box.lines.size()) {
                double const more = text_height(wide, box.lines[until], type) + 2.4;
                if (until == at) room(height + more);
                if (y_ + height + more > bottom()) break;
                height += more;
                ++until;
            }
            if (until == at) ++until;  // a line longer than a page is drawn over its foot, not lost
            std::vector<std::string> const part(
                box.lines.begin() + static_cast<std::ptrdiff_t>(at),
                box.lines.begin() + static_cast<std::ptrdiff_t>(until));
            double const y = y_;
            stroke([=, w = width()](Canvas& canvas) {
                canvas.fill(Box{margin, y, w, height}, wash);
                canvas.fill(Box{margin, y, 2.5, height}, ink);
                canvas.text({margin + 10, y + 3, wide, 10},
                            first ? "Cautions" : "Cautions, continued",
                            bold);
                double line = y + head;
                for (auto const& text : part)
                    line += canvas.paragraph({margin + 10, line, wide, 40}, text, type, any_lines) +
                            2.4;
            });
            y_ += height + 6;
            at = until;
            first = false;
        }
    }

    struct Line {
        double height{};
        std::vector<double> x, w;
    };
    static constexpr double mark_room = 9;

    [[nodiscard]] std::vector<double> widths(Table const& table) const {
        double total = 0;
        for (auto const& column : table.columns) total += column.share;
        std::vector<double> out;
        for (auto const& column : table.columns) out.push_back(width() * column.share / total);
        return out;
    }
    static Type type_of(Table const& table, Cell const& cell) {
        bool const stands_out = cell.mark && *cell.mark == metrology::Verdict::fails;
        return {table.type_size,
                cell.strong || stands_out,
                false,
                cell.mark ? colour(*cell.mark) : ink};
    }
    static std::string words_of(Cell const& cell) {
        if (!cell.mark) return cell.text;
        return cell.text.empty() ? word(*cell.mark) : word(*cell.mark) + ": " + cell.text;
    }
    double row_height(Table const& table,
                      std::vector<Cell> const& row,
                      std::vector<double> const& w) const {
        double height = 0;
        for (std::size_t i = 0; i < std::min(row.size(), w.size()); ++i) {
            double const room = w[i] - 2 * cell_pad - (row[i].mark ? mark_room : 0);
            height = std::max(height, text_height(room, words_of(row[i]), type_of(table, row[i])));
        }
        return height + 2 * row_pad;
    }

    void put(Table const& table) {
        if (!table.caption.empty()) {
            next_ = 45;
            put(Heading{table.caption, 2});
        }
        if (table.rows.empty()) return put(Paragraph{table.if_empty, false, true});
        auto const w = widths(table);
        std::vector<Cell> titles;
        bool titled = false;
        for (auto const& column : table.columns) {
            titles.push_back({column.title, {}, true});
            titled = titled || !column.title.empty();
        }
        double const head = titled ? row_height(table, titles, w) : 0;
        room(head + row_height(table, table.rows.front(), w));
        if (titled) draw_row(table, titles, w, head, true);
        bool even = false;
        for (auto const& row : table.rows) {
            double const height = row_height(table, row, w);
            if (y_ + height > bottom() && !at_top()) {
                page();
                if (titled) draw_row(table, titles, w, head, true);
            }
            draw_row(table, row, w, height, false);
            even = !even;
        }
        y_ += 5;
    }

    void draw_row(Table const& table,
                  std::vector<Cell> const& row,
                  std::vector<double> const& w,
                  double height,
                  bool head) {
        double const y = y_;
        std::vector<Align> aligns;
        for (auto const& column : table.columns) aligns.push_back(column.align);
        std::vector<Type> types;
        for (auto const& cell : row) types.push_back(type_of(table, cell));
        stroke([=, all = width(), size = table.type_size](Canvas& canvas) {
            double x = margin;
            for (std::size_t i = 0; i < std::min(row.size(), w.size()); ++i) {
                double left = x + cell_pad, room = w[i] - 2 * cell_pad;
                auto const words = words_of(row[i]);
                if (row[i].mark) {
                    draw_mark(canvas, {left + 3, y + row_pad + 0.62 * size}, 2.6, *row[i].mark);
                    left += mark_room;
                    room -= mark_room;
                }
                if (aligns[i] == Align::left || canvas.measure(words, types[i]).width > room)
                    canvas.paragraph({left, y + row_pad, room, height}, words, types[i], any_lines);
                else
                    canvas.text({left, y + row_pad, room, height}, words, types[i], aligns[i]);
                x += w[i];
            }
            canvas.line({margin, y + height},
                        {margin + all, y + height},
                        {head ? ink : hair, head ? 0.7 : 0.4, {}});
        });
        y_ += height;
    }

    void put(Pictures const& pictures) {
        if (pictures.each.empty()) return;
        auto const count = static_cast<double>(pictures.each.size());
        double const each = (width() - gap * (count - 1)) / count;
        double height = 0;
        bool titled = false;
        for (auto const& picture : pictures.each) {
            height = std::max(height, picture.height);
            titled = titled || !picture.title.empty();
        }
        double const title = titled ? 12 : 0;
        room(height + title);
        double x = margin;
        for (auto const& picture : pictures.each) {
            double const y = y_;
            stroke([=](Canvas& canvas) {
                if (!picture.title.empty())
                    canvas.text({x, y, each, 11}, picture.title, {8, true, false, ink});
                picture.draw(canvas, {x, y + title, each, height});
            });
            x += each + gap;
        }
        y_ += height + title + 8;
    }

    void put(PenLine const& line) {
        Type const type{8, false, false, ink};
        room(24);
        double const y = y_;
        double const label = std::min(measure_.measure(line.label, type).width + 6, 0.7 * width());
        stroke([=, w = width(), text = line.label](Canvas& canvas) {
            canvas.text({margin, y + 10, label, 11}, text, type);
            canvas.line({margin + label + 4, y + 20}, {margin + w, y + 20}, {soft, 0.6, {}});
        });
        y_ += 25;
    }

    void put(PageBreak const&) {
        if (!at_top()) page();
    }

    Canvas& measure_;
    Size size_;
    std::vector<std::vector<Stroke>> pages_;
    double y_ = 0;
    double next_ = 0;  // least height of what follows the block that is put
};

// What stands around the blocks on every page but the first.
struct Frame {
    std::string name, program;
    bool invented = false;
    std::size_t pages = 1;
};

void draw_frame(Canvas& canvas, Frame const& frame, std::size_t page) {
    double const width = canvas.size().width - 2 * margin, foot = canvas.size().height - margin + 2;
    Type const fine{7, false, false, soft}, name{7.6, true, false, ink};
    bool const invented = frame.invented;
    std::string const mark = "INVENTED DATA";
    double const marked = invented ? canvas.measure(mark, {7, true, false, sheet}).width + 8 : 0;
    canvas.text({margin, margin - 6, width - marked - 8, 10}, frame.name, name);
    if (invented) {
        canvas.fill(Box{margin + width - marked, margin - 7, marked, 11}, ink);
        canvas.text(
            {margin + width - marked + 4, margin - 5.6, marked, 10}, mark, {7, true, false, sheet});
    }
    canvas.line({margin, margin + 6}, {margin + width, margin + 6}, {hair, 0.5, {}});
    canvas.text({margin, foot, 0.75 * width, 10},
                frame.program +
                    "; a record of measurements, and no authority to proceed "
                    "with any work",
                fine);
    canvas.text({margin + 0.76 * width, foot, 0.24 * width, 10},
                fmt::format("Page {} of {}", page, frame.pages),
                fine,
                Align::right);
}

}  // namespace

std::vector<std::function<void(Canvas&)>> document_pages(Document const& document, Paper paper) {
    auto const size = size_of(paper);
    std::vector<std::vector<Stroke>> flowed;
    measured(size, [&](Canvas& canvas) {
        Flow flow(canvas, size);
        for (std::size_t i = 0; i < document.blocks.size(); ++i)
            flow.add(document.blocks[i],
                     i + 1 < document.blocks.size() ? &document.blocks[i + 1] : nullptr);
        flowed = flow.take();
    });
    Frame frame{
        document.name, document.first.program, !document.first.invented.empty(), flowed.size() + 1};
    std::vector<std::function<void(Canvas&)>> pages;
    pages.emplace_back([first = document.first, count = frame.pages](Canvas& canvas) {
        auto counted = first;
        counted.pages = count;
        draw_handover(canvas, counted);
    });
    for (std::size_t i = 0; i < flowed.size(); ++i)
        pages.emplace_back([frame, number = i + 2, strokes = std::move(flowed[i])](Canvas& canvas) {
            draw_frame(canvas, frame, number);
            for (auto const& stroke : strokes) stroke(canvas);
        });
    return pages;
}

Result<std::string> document_pdf(Document const& document, Paper paper) {
    DocumentInfo info;
    info.title = fmt::format("Handover: {}, {}{}",
                             document.name,
                             to_text(document.first.date),
                             document.first.invented.empty() ? "" : " (INVENTED DATA)");
    info.created = document.first.date;
    return render_pages(size_of(paper), info, document_pages(document, paper));
}

}  // namespace gw::report
