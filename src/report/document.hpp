#pragma once
/// A document of several pages as plain values: what it says, apart from how it is shown. Paper
/// (PDF) and screen (HTML, without script) are made from the same blocks.
#include <functional>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "metrology/finding.hpp"
#include "report/handover.hpp"

namespace gw::report {

struct Heading {
    std::string text;
    int level = 1;  ///< 1: a section; 2: within one
};
struct Paragraph {
    std::string text;
    bool strong = false, soft = false;
};
/// What may hurt somebody; framed, never in colour alone.
struct CautionBox {
    std::vector<std::string> lines;
};
struct Cell {
    std::string text;
    std::optional<metrology::Verdict> mark;  ///< its shape and its word stand before the text
    bool strong = false;
};
struct Column {
    std::string title;  ///< empty in every column: a table without a row of titles
    double share = 1;   ///< of the width
    Align align = Align::left;
};
struct Table {
    std::vector<Column> columns;
    std::vector<std::vector<Cell>> rows;
    std::string caption;             ///< a line above it; may be empty
    std::string if_empty = "None.";  ///< what is said when there is no row
    double type_size = 7;            ///< pt
};
struct Picture {
    std::string title, description;  ///< the description is for those who cannot see it
    double height = 150;             ///< pt, at the width of its share of the page
    std::function<void(Canvas&, Box)> draw;
};
/// One, or two side by side.
struct Pictures {
    std::vector<Picture> each;
};
/// A line to be filled with a pen.
struct PenLine {
    std::string label;
};
struct PageBreak {};
using Block = std::variant<Heading, Paragraph, CautionBox, Table, Pictures, PenLine, PageBreak>;

struct Document {
    Handover first;    ///< its page stands first
    std::string name;  ///< at the head of every other page: "Harrowmere  HX-03  visit ..."
    std::vector<Block> blocks;
};

/// Every page by its drawing, in order; they need nothing of `document` any more.
std::vector<std::function<void(Canvas&)>> document_pages(Document const& document, Paper paper);
Result<std::string> document_pdf(Document const& document, Paper paper);
/// One file that needs nothing else: no script, no address, pictures inside.
Result<std::string> document_html(Document const& document);

}  // namespace gw::report
