#include "base/text.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

#include "base/decoded_text.hpp"

namespace gw {
namespace {

using namespace std::string_literals;

TEST(DecodedText, IsTheBytesThemselvesWhereNothingIsDecoded) {
    std::string const plain = "time_s,signal\n", marked = "\xEF\xBB\xBF" + plain, latin = "\xB5V";
    EXPECT_EQ(decoded_text(plain, "f")->view().data(), plain.data());
    EXPECT_EQ(decoded_text(marked, "f")->view(), plain);
    auto text = *decoded_text(latin, "f");
    EXPECT_EQ(text.view(), "\xC2\xB5V");
    text.own() += "!";
    EXPECT_EQ(text.view(), "\xC2\xB5V!");
    auto copied = *decoded_text(plain, "f");
    copied.own()[0] = 'T';
    EXPECT_EQ(copied.view(), "Time_s,signal\n");
    EXPECT_EQ(plain[0], 't');
}

TEST(HasLineOver, FindsOneLongLineAmongShortOnes) {
    EXPECT_FALSE(has_line_over("", 3));
    EXPECT_FALSE(has_line_over("abc\nabc\r\nabc", 3));
    EXPECT_TRUE(has_line_over("abc\nabcd\nabc", 3));
    EXPECT_TRUE(has_line_over("abcd", 3));
    EXPECT_TRUE(has_line_over("a\nb\nabcd", 3));
    EXPECT_FALSE(has_line_over("\n\n\n\nabc\n", 3));
}

TEST(Text, ReadsOnlyWholeFiniteNumbers) {
    EXPECT_EQ(parse_number(" 1.5e2 "), 150.0);
    EXPECT_EQ(parse_number("+3"), 3.0);
    for (auto const* bad : {"", "nan", "inf", "1,5", "1.5 mV", "0x10", "++1", "1e999"})
        EXPECT_FALSE(parse_number(bad)) << bad;
}

RC_GTEST_PROP(Text, ShortestTextReadsBackAsTheSameNumber, (double x)) {
    RC_PRE(std::isfinite(x));
    RC_ASSERT(*parse_number(shortest(x)) == x);
}

TEST(Text, NeverPrintsMinusZero) {
    EXPECT_EQ(fixed(-0.0004, 3), "0.000");
    EXPECT_EQ(fixed(-0.0006, 3), "-0.001");
}

TEST(Text, DecodesEveryEncodingOfTheContract) {
    EXPECT_EQ(*decode_text("\xEF\xBB\xBFµV", "f"), "µV");
    EXPECT_EQ(*decode_text("\xFF\xFE\xB5\x00V\x00"s, "f"), "µV");
    EXPECT_EQ(*decode_text("\xFE\xFF\x00\xB5\x00V"s, "f"), "µV");
    EXPECT_EQ(*decode_text("\xB5V", "f"), "µV");
}

TEST(Text, RefusesBinaryAndHalfCharacters) {
    EXPECT_FALSE(
        decode_text("\x7F"
                    "ELF\x02\x01\x00"s,
                    "f"));
    EXPECT_FALSE(decode_text("\xFF\xFE\xB5"s, "f"));
    EXPECT_FALSE(decode_text("\xFF\xFE\x01\x00"s, "f"));
}

TEST(Text, SplitsKeepingEmptyFields) {
    auto const parts = split("a,,b", ',');
    ASSERT_EQ(parts.size(), 3U);
    EXPECT_EQ(parts[1], "");
}

}  // namespace
}  // namespace gw
