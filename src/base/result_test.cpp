#include "base/result.hpp"

#include <gtest/gtest.h>

namespace gw {
namespace {

Result<int> half(int n) {
    if (n % 2 != 0) return fail(Errc::bad_input, "odd.", "here", "make it even");
    return n / 2;
}
Result<int> quarter(int n) {
    GW_TRY(int const h, half(n));
    return half(h);
}

TEST(ResultType, PassesAnErrorThroughUnchanged) {
    auto const r = quarter(6);
    ASSERT_FALSE(r);
    EXPECT_EQ(r.error().what, "odd.");
    EXPECT_EQ(r.error().where, "here");
    EXPECT_EQ(*quarter(8), 2);
}

TEST(ResultType, PrintsOneLineWithPlaceAndRemedy) {
    EXPECT_EQ(one_line({Errc::bad_input, "It is odd.", "f.json:x", "make it even"}),
              "f.json:x: It is odd; make it even");
    EXPECT_EQ(one_line({Errc::bad_input, "two\nlines", "", ""}), "two lines");
    EXPECT_EQ(one_line({Errc::bad_input, "a \x1B[31mred\x7F line", "", ""}), "a  [31mred  line");
}

TEST(ResultType, MapsEveryCodeToTheContractsExitCodes) {
    for (auto const code : {Errc::bad_input, Errc::out_of_range, Errc::not_found, Errc::conflict})
        EXPECT_EQ(exit_code(code), 2);
    for (auto const code : {Errc::busy, Errc::io}) EXPECT_EQ(exit_code(code), 3);
}

}  // namespace
}  // namespace gw
