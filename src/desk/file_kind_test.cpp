#include "desk/file_kind.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "desk/demo_scenario.hpp"
#include "desk/load.hpp"

namespace gw::desk {
namespace {

// Two channels of something under titles that no reader knows, a remark between them.
std::string odd_table() {
    std::string out = "Recorder 7;;\nwhen;what;other\nm;mV;mV\n";
    for (int i = 0; i < 60; ++i) {
        auto number = std::to_string(i * 0.01);
        std::replace(number.begin(), number.end(), '.', ',');
        out += "x" + std::to_string(i) + ";" + number + ";" + std::to_string(i % 7) + ",5\n";
    }
    return out;
}

TEST(FileKind, KnowsTheFilesOfTheTrade) {
    auto const scenario = demo_scenario();
    ASSERT_TRUE(scenario);
    std::map<std::string, std::string> kinds;
    for (auto const& [name, content] : scenario->files)
        kinds[name] = file_kind(content, name)["kind"].get<std::string>();
    EXPECT_EQ(kinds["calibration_gas.json"], "cylinder");
    EXPECT_EQ(kinds["proving_gas.json"], "cylinder");
    EXPECT_EQ(kinds["method.json"], "method");
    EXPECT_EQ(file_kind(std::string("PK\x03\x04", 4), "x.zip")["kind"], "bundle");
    EXPECT_EQ(file_kind("\x89PNG\r\n\x1a\n", "x.csv")["kind"], "picture");
    EXPECT_EQ(file_kind("component, area, mole_percent\nmethane, 10, 99\nethane, 1, 1\n",
                        "x.csv")["kind"],
              "report");
    EXPECT_EQ(file_kind("time_s,oven_c\n0,20\n60,30\n120,35\n", "x.csv")["kind"], "series");
}

TEST(FileKind, ShowsTheColumnsOfATableItDoesNotKnow) {
    auto const kind = file_kind(odd_table(), "odd.csv");
    ASSERT_EQ(kind["kind"], "table") << kind.dump();
    EXPECT_EQ(kind["columns"]["delimiter"], "semicolon");
    EXPECT_EQ(kind["columns"]["decimal_comma"], true);
    EXPECT_EQ(kind["columns"]["width"], 3);
    EXPECT_EQ(kind["columns"]["rows"][3]["cells"][1], "0,000000");
    EXPECT_FALSE(kind["problem"]["what"].get<std::string>().empty());
}

TEST(FileKind, TakesAnythingWithoutFalling) {
    for (auto const& bytes :
         {std::string(), std::string("\0\1\2", 3), std::string("{"), std::string(5000, ';')}) {
        auto const kind = file_kind(bytes, "x");
        EXPECT_TRUE(kind["kind"] == "unknown" || kind["kind"] == "table") << kind.dump();
    }
}

TEST(PickedColumns, BecomeARun) {
    PickedColumns picked{"semicolon", true, 4, 1, "min", {2}, "mV"};
    auto const made = picked_trace(odd_table(), "odd.csv", picked);
    ASSERT_TRUE(made) << made.error().what;
    auto const run = run_of(*made, "odd.csv");
    ASSERT_TRUE(run);
    auto const& trace = std::get<trace::Trace>(*run);
    EXPECT_EQ(trace.samples(), 60U);
    EXPECT_NEAR(trace.interval_s, 0.6, 1e-9);
    EXPECT_EQ(trace.unit, "mV");
    EXPECT_FLOAT_EQ(trace.signals[0][3], 3.5F);
}

TEST(PickedColumns, AreRefusedWithTheirLine) {
    auto const refused = [](PickedColumns const& picked) {
        auto const made = picked_trace(odd_table(), "odd.csv", picked);
        EXPECT_FALSE(made);
        return made ? std::string() : made.error().where;
    };
    EXPECT_EQ(refused({"semicolon", true, 3, 1, "s", {2}, ""}), "odd.csv:3");
    EXPECT_EQ(refused({"semicolon", false, 4, 1, "s", {2}, ""}), "odd.csv:4");
    EXPECT_EQ(refused({"semicolon", true, 4, 1, "s", {9}, ""}), "odd.csv:4");
    EXPECT_EQ(refused({"semicolon", true, 4, 0, "s", {2}, ""}), "odd.csv:4");
    EXPECT_EQ(refused({"colon", true, 4, 1, "s", {2}, ""}), "delimiter");
    EXPECT_EQ(refused({"semicolon", true, 4, 1, "weeks", {2}, ""}), "time_unit");
    EXPECT_EQ(refused({"semicolon", true, 4, 1, "s", {}, ""}), "signals");
    EXPECT_EQ(refused({"semicolon", true, 4, 1, "s", {1}, ""}), "signals");
}

}  // namespace
}  // namespace gw::desk
