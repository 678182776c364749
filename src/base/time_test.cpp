#include "base/time.hpp"

#include <gtest/gtest.h>

namespace gw {
namespace {

TEST(Time, ReadsDatesAndRefusesDaysThatDoNotExist) {
    EXPECT_EQ(parse_date("1970-01-02", "f")->days, 1);
    EXPECT_EQ(to_text(*parse_date("2028-02-29", "f")), "2028-02-29");
    for (auto const* bad : {"2027-02-29", "2027-13-01", "27-01-01", "2027-1-1", "01.02.2027", ""})
        EXPECT_FALSE(parse_date(bad, "f")) << bad;
}

TEST(Time, KeepsTheOffsetATimeWasWrittenIn) {
    auto const t = parse_instant("2026-03-02T00:15:00+01:00", "f");
    ASSERT_TRUE(t);
    EXPECT_EQ(to_text(*t), "2026-03-02T00:15:00+01:00");
    EXPECT_EQ(to_text(date_of(*t)), "2026-03-02");
    EXPECT_EQ(t->milliseconds, parse_instant("2026-03-01T23:15:00Z", "f")->milliseconds);
    EXPECT_EQ(parse_instant("2026-03-02 00:15:00.250-0330", "f")->offset_minutes, -210);
    EXPECT_EQ(to_text(*parse_instant("1969-12-31T23:59:59.5Z", "f")), "1969-12-31T23:59:59.500Z");
}

TEST(Time, RefusesATimeWithoutOffset) {
    for (auto const* bad :
         {"2026-03-02T10:15:00", "2026-03-02", "2026-03-02T25:00:00Z", "2026-03-02T10:15:00+25:00"})
        EXPECT_FALSE(parse_instant(bad, "f")) << bad;
}

}  // namespace
}  // namespace gw
