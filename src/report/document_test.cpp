#include "report/document.hpp"

#include <gtest/gtest.h>

#include <algorithm>

namespace gw::report {
namespace {

Document example(std::size_t rows) {
    Document out;
    out.first.site = "North";
    out.first.analyser = "PX-1";
    out.first.program = "gaswright test";
    out.name = "North  PX-1";
    out.blocks.emplace_back(Heading{"A section & more", 1});
    Paragraph words;
    words.text = "Words <b>that</b> are no markup.";
    out.blocks.emplace_back(words);
    Table table;
    table.columns = {{"Name", 1, Align::left}, {"Value", 1, Align::right}};
    for (std::size_t i = 0; i < rows; ++i)
        table.rows.push_back(
            {{"row " + std::to_string(i), {}, false}, {"1.5", metrology::Verdict::fails, false}});
    out.blocks.emplace_back(table);
    out.blocks.emplace_back(CautionBox{{"A hot block burns."}});
    out.blocks.emplace_back(PenLine{"name, date:"});
    Picture picture;
    picture.title = "a picture";
    picture.description = "a line from left to right";
    picture.draw = [](Canvas& canvas, Box box) {
        canvas.line({box.x, box.y}, {box.right(), box.bottom()}, {});
    };
    out.blocks.emplace_back(Pictures{{picture, picture}});
    return out;
}

std::size_t pages_of(std::string const& pdf) {
    std::size_t count = 0;
    for (auto at = pdf.find("/Type /Page %"); at != std::string::npos;
         at = pdf.find("/Type /Page %", at + 1))
        ++count;
    return count;
}

TEST(Document, FlowsOverAsManyPagesAsItNeeds) {
    auto const small = document_pdf(example(3), Paper::a4).value(),
               large = document_pdf(example(300), Paper::a4).value();
    EXPECT_EQ(pages_of(small), 2U);
    EXPECT_GT(pages_of(large), 5U);
    EXPECT_EQ(large, document_pdf(example(300), Paper::a4).value()) << "the same bytes twice";
}

// No row is lost between pages, however tall the rows.
TEST(Document, HtmlHoldsEveryRowAndNoScript) {
    auto const html = document_html(example(300)).value();
    for (auto const* words : {"row 0<",
                              "row 299<",
                              "A hot block burns.",
                              "a line from left to right",
                              "A section &amp; more",
                              "&lt;b&gt;that&lt;/b&gt;",
                              "\u25C6 fails: 1.5"})
        EXPECT_NE(html.find(words), std::string::npos) << words;
    for (auto const* never : {"<script", "http://", "https://", "url("})
        EXPECT_EQ(html.find(never), std::string::npos) << never;
}

TEST(Document, SaysWhatIsEmpty) {
    auto document = example(0);
    auto const html = document_html(document).value();
    EXPECT_NE(html.find("None."), std::string::npos);
}

}  // namespace
}  // namespace gw::report
