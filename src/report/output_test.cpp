#include "report/output.hpp"

#include <gtest/gtest.h>

namespace gw::report {
namespace {

Result<std::string> sample(Format format, std::string const& text = "Signal ± 0.1 mV") {
    DocumentInfo const info{"A < B & C", "methane > ethane", Date{20000}};
    return render(format, {300, 200}, info, [&](Canvas& canvas) {
        canvas.line({10, 10}, {290, 190}, {{0, 0, 0}, 1, {3, 2}});
        canvas.text({20, 20, 200, 14}, text, {10, true, false, {}});
        canvas.turned({50, 150}, 1, 100, text, {8, false, true, {}});
    });
}

TEST(Render, GivesTheSameBytesTwice) {
    for (auto const format : {Format::svg, Format::png, Format::pdf}) {
        auto const first = sample(format), second = sample(format);
        ASSERT_TRUE(first) << first.error().what;
        ASSERT_TRUE(second);
        EXPECT_EQ(*first, *second);
        EXPECT_GT(first->size(), 500U);
        EXPECT_NE(*first, *sample(format, "Signal ± 0.2 mV")) << "the check must see a difference";
    }
}

TEST(Render, WritesWhatTheSuffixSays) {
    EXPECT_EQ(sample(Format::pdf)->substr(0, 5), "%PDF-");
    EXPECT_EQ(sample(Format::png)->substr(1, 3), "PNG");
    EXPECT_NE(sample(Format::svg)->find("<svg"), std::string::npos);
    EXPECT_NE(sample(Format::svg)->find("<title>A &lt; B &amp; C</title>"), std::string::npos);
}

TEST(Render, TakesTextThatIsNoUtf8) {
    EXPECT_TRUE(sample(Format::svg, "caf\xE9 \x01 \xF0"));
    EXPECT_TRUE(sample(Format::pdf, std::string("a\0b", 3)));
}

TEST(Render, RefusesASheetThatNobodyCanMean) {
    for (Size const size : {Size{1, 100}, Size{100, 1e9}, Size{std::nan(""), 100}})
        EXPECT_FALSE(render(Format::pdf, size, {}, [](Canvas&) {}));
}

TEST(FormatOf, ReadsTheSuffixAndRefusesOthers) {
    EXPECT_EQ(*format_of("run.SVG", "-o"), Format::svg);
    EXPECT_EQ(*format_of("a.b/run.pdf", "-o"), Format::pdf);
    for (auto const* path : {"run.jpeg", "run", "svg", "a.svg/run", "", "-"}) {
        auto const refused = format_of(path, "--output");
        ASSERT_FALSE(refused) << path;
        EXPECT_EQ(refused.error().where, "--output");
    }
}

TEST(Canvas, MeasuresWhatItPlaces) {
    (void)render(Format::png, {300, 200}, {}, [](Canvas& canvas) {
        Type const type{10, false, false, {}};
        auto const size = canvas.measure("a long name of a component", type);
        canvas.text({0, 0, size.width, size.height}, "a long name of a component", type);
        canvas.text({0, 20, size.width / 2, size.height}, "a long name of a component", type);
        ASSERT_EQ(canvas.placed().size(), 2U);
        auto const width = [&](std::size_t i) {
            return canvas.placed()[i].corners[1].x - canvas.placed()[i].corners[0].x;
        };
        EXPECT_NEAR(width(0), size.width, 2) << "whole";
        EXPECT_LE(width(1), size.width / 2 + 0.1) << "cut with an ellipsis";
        EXPECT_FALSE(overlap(canvas.placed()[0], canvas.placed()[1]));
        double const three =
                         canvas.paragraph_height(60, "one two three four five six seven", type, 3),
                     one =
                         canvas.paragraph_height(60, "one two three four five six seven", type, 1);
        EXPECT_NEAR(three, 3 * one, 0.5);
    });
}

TEST(Overlap, KnowsTurnedRectangles) {
    PlacedText const level{"", {{0, 0}, {10, 0}, {10, 4}, {0, 4}}};
    PlacedText const diamond_apart{"", {{12, 2}, {14, 0}, {16, 2}, {14, 4}}};
    // Its bounding box meets the level one, the diamond itself does not.
    PlacedText const diamond_near{"", {{9.5, 7}, {12, 4.5}, {14.5, 7}, {12, 9.5}}};
    PlacedText const diamond_corner{"", {{8, 6}, {12, 2}, {16, 6}, {12, 10}}};
    PlacedText const diamond_inside{"", {{3, 2}, {5, 0}, {7, 2}, {5, 4}}};
    EXPECT_FALSE(overlap(level, diamond_apart));
    EXPECT_FALSE(overlap(level, diamond_near));
    EXPECT_FALSE(overlap(level, diamond_corner)) << "touches at most";
    EXPECT_TRUE(overlap(level, diamond_inside));
    EXPECT_TRUE(overlap(level, level));
}

}  // namespace
}  // namespace gw::report
