// A report from text: the same answer as of a file, and every line at fault at once.
#include <gtest/gtest.h>

#include <fstream>
#include <nlohmann/json.hpp>

#include "desk/prove.hpp"
#include "visit/look.hpp"

namespace gw::desk {
namespace {

constexpr auto report =
    "component, area, mole_percent\n"
    "propane, 774, 2.4\n"
    "nitrogen, 630, 2.55\n"
    "methane, 18850, 88.0\n"
    "carbon dioxide, 360, 1.25\n"
    "ethane, 1536, 5.0\n";

Date day() { return *parse_date("2026-05-19", "on"); }

TEST(LookAt, AnswersLikeTheCommand) {
    auto const path = testing::TempDir() + "/gw_look_page.csv";
    std::ofstream(path) << report;
    auto const here = look_at({report, {}, "custody", day()});
    auto const there = look({path, {}, "custody", day()});
    ASSERT_TRUE(here && there);
    EXPECT_EQ(visit::look_json(*here)["findings"].size(),
              visit::look_json(*there)["findings"].size());
    for (std::size_t i = 0; i < here->findings.size(); ++i)
        EXPECT_EQ(here->findings[i].value, there->findings[i].value);
    EXPECT_EQ(here->suspects.size(), there->suspects.size());
}

TEST(LookAt, ReadsNoFileForItsCriteria) {
    EXPECT_FALSE(look_at({report, {}, "/etc/passwd", day()}));
    EXPECT_FALSE(look_at({"nothing of a report", {}, "custody", day()}));
    EXPECT_EQ(look_at({"nothing of a report", {}, "custody", day()}).error().where, "report");
    EXPECT_FALSE(look_at({report, "{}", "custody", day()}));
}

TEST(ReportFaults, AreAllFoundAtOnce) {
    EXPECT_TRUE(report_faults(report).empty());
    auto const faults = report_faults(
        "component, area, mole_percent\n"
        "methane, 18850, 88.o\n"
        "unobtainium, 3, 1\n"
        "ethane, 1536, 5.0\n"
        "propane, 774, -2.4\n"
        "nitrogen, 630, 4.6\n");
    ASSERT_EQ(faults.size(), 3U);
    EXPECT_EQ(faults[0].where, "report:2");
    EXPECT_EQ(faults[1].where, "report:3");
    EXPECT_EQ(faults[2].where, "report:5");
}

TEST(ReportFaults, EndWhateverComes) {
    EXPECT_EQ(report_faults("").size(), 1U);
    EXPECT_FALSE(report_faults(std::string("\0\1\2", 3)).empty());
    std::string long_one = "component, area\n";
    for (int i = 0; i < 200; ++i) long_one += "nonsense, x\n";
    EXPECT_EQ(report_faults(long_one, 30).size(), 30U);
}

}  // namespace
}  // namespace gw::desk
