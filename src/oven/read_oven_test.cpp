// Nonsense in an oven block is refused in one sentence that names the place.
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "oven/oven_for_tests.hpp"

namespace gw::oven {
namespace {

Json series() { return Json::parse(file_text("tests/contract/files/oven_series.json")); }

void expect_refused(Json const& method, std::string const& where, std::string const& what) {
    auto const got = oven_of_text(method.dump());
    ASSERT_FALSE(got) << what;
    auto const line = one_line(got.error());
    EXPECT_NE(line.find(where), std::string::npos) << line;
    EXPECT_NE(line.find(what), std::string::npos) << line;
    EXPECT_FALSE(got.error().mend.empty()) << line;
}

TEST(ReadOven, ReadsTheReferenceLayout) {
    auto const oven = oven_of_text(series().dump());
    ASSERT_TRUE(oven) << one_line(oven.error());
    EXPECT_EQ(oven->columns.size(), 3U);
    EXPECT_EQ(oven->species.size(), 17U);
    EXPECT_EQ(oven->paths.size(), 4U);
    EXPECT_DOUBLE_EQ(oven->temperature_k, 353.15);
    EXPECT_DOUBLE_EQ(oven->columns[2].stored_diffusion_m2_s, 0.25e-4);
    EXPECT_EQ(oven->species[16].reported_as, gas::c6_plus);
}

TEST(ReadOven, RefusesNonsense) {
    auto m = series();
    m["oven"]["columns"][0]["length_m"] = 0;
    expect_refused(m, "oven.columns[0].length_m", "above 0");
    m = series();
    m["oven"]["columns"][1]["holdup_s"] = -1;
    expect_refused(m, "oven.columns[1].holdup_s", "above 0");
    m = series();
    m["oven"]["columns"][1]["plates"] = 0;
    expect_refused(m, "plates", "0");
    m = series();
    m["valve_programme"][2]["action"] = "stow C";
    expect_refused(m, "valve_programme[2]", "\"stow C\"");
    m = series();
    m["valve_programme"][4]["at_s"] = 241;
    expect_refused(m, "valve_programme[4].at_s", "");
    m = series();
    m["oven"]["columns"].push_back(m["oven"]["columns"][0]);
    expect_refused(m, "columns[3]", "two columns");
    m = series();
    m["oven"]["columns"].push_back(m["oven"]["columns"][0]);
    m["oven"]["columns"][3]["id"] = "D";
    for (auto& c : m["oven"]["components"]) c["retention_factor"]["D"] = 1;
    expect_refused(m, "oven.paths", "\"D\" cannot be reached");
    m = series();
    m["oven"]["paths"].erase(2);
    expect_refused(m, "oven.paths", "store C");
    m = series();
    m["oven"]["chains"][0]["injection"]["on_action"] = "start";
    expect_refused(m, "oven", "\"start\"");
    m = series();
    m["oven"]["components"][3]["retention_factor"].erase("B");
    expect_refused(m, "components[3].retention_factor", "B");
    m = series();
    m["oven"]["paths"][0]["chains"]["1"]["columns"][0]["direction"] = "up";
    expect_refused(m, "columns[0]", "\"up\"");
    m = series();
    m["oven"]["paths"][0]["chains"]["1"]["columns"][1]["column"] = "A";
    expect_refused(m, "paths[0]", "twice");
    m = series();
    m["oven"]["flow"] = "computed";
    m["oven"]["chains"][0]["carrier"].erase("inlet_bar_abs");
    expect_refused(m, "chains[0]", "pressures");
    m = series();
    m.erase("oven");
    expect_refused(m, "method.json", "oven block");
}

TEST(ReadOven, ChainsMayShareADetector) {
    auto m = Json::parse(file_text("data/demo/method.json"));
    EXPECT_EQ(oven_of_text(m.dump())->detectors.size(), 1U);
    // By a number inside equal objects.
    auto detector = m["oven"]["chains"][0]["detector"];
    detector["id"] = 1;
    m["oven"]["chains"][0]["detector"] = detector;
    m["oven"]["chains"][1]["detector"] = detector;
    EXPECT_EQ(oven_of_text(m.dump())->detectors.size(), 1U);
    // By the peaks: equal objects, and no peak names a second detector.
    detector.erase("id");
    for (int c = 0; c < 3; ++c) m["oven"]["chains"][c]["detector"] = detector;
    EXPECT_EQ(oven_of_text(m.dump())->detectors.size(), 1U);
    m["peaks"][5]["detector"] = 2;
    EXPECT_EQ(oven_of_text(m.dump())->detectors.size(), 2U);
    m["oven"]["chains"][1]["detector"] = "nowhere";
    expect_refused(m, "chains[1].detector", "nowhere");
}

}  // namespace
}  // namespace gw::oven
