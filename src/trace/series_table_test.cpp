#include "trace/series_table.hpp"

#include <gtest/gtest.h>

namespace gw::trace {
namespace {

TEST(SeriesTable, ReadsSecondsInstantsGapsAndWords) {
    auto const s = read_series(
        "# made here\ntime_s,oven_c,factor:C1,event\n0,79,1,\n60,,2,oven opened\n", "s.csv");
    ASSERT_TRUE(s) << s.error().what;
    EXPECT_EQ(s->columns.size(), 2U);
    EXPECT_EQ(s->find("factor:methane")->y, (std::vector<double>{1, 2}));
    EXPECT_EQ(s->find("oven_c")->y.size(), 1U);
    EXPECT_EQ(s->events[1], "oven opened");
    auto const i = read_series(
        "time;total\n2026-03-02T10:00:00+01:00;99,5\n2026-03-02T10:01:00+01:00;99,6\n", "s.csv");
    ASSERT_TRUE(i) << i.error().what;
    EXPECT_EQ(i->t[1], 60);
    EXPECT_EQ(i->columns[0].y[0], 99.5);
    EXPECT_EQ(i->time_text(60), "2026-03-02T10:01:00+01:00");
    EXPECT_EQ(read_series("time_min,total\n0,1\n2,1\n", "s")->t[1], 120);
}

TEST(SeriesTable, SaysWhereItIsWrong) {
    auto const where = [](char const* text) { return read_series(text, "s.csv").error().where; };
    EXPECT_EQ(where("time_s,a\n0,1\n0,2\n"), "s.csv:3");
    EXPECT_EQ(where("time_s,a\n0,x\n"), "s.csv:2");
    EXPECT_EQ(where("a,b\n0,1\n"), "s.csv:1");
    EXPECT_EQ(where("time_s,retention:butter\n0,1\n"), "s.csv:1");
    EXPECT_EQ(where(""), "s.csv");
    EXPECT_EQ(where("time_s,a,a\n0,1,2\n"), "s.csv:1");
    EXPECT_EQ(where("time_s,a\n0,1,2\n"), "s.csv:2");
}

}  // namespace
}  // namespace gw::trace
