#include "desk/cylinder_pressure.hpp"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "base/file.hpp"
#include "desk/register_view.hpp"
#include "desk/visit_findings.hpp"
#include "store/memory_store.hpp"

namespace gw::desk {
namespace {

visit::Act act(char const* at = "2026-05-19T12:00:00+02:00") {
    return {"A. Person", *parse_instant(at, "now"), {}};
}
TypedPressure typed(double value, char const* unit, std::optional<double> ambient = {}) {
    TypedPressure out;
    out.value = value;
    out.unit = unit;
    out.ambient = ambient;
    return out;
}
double kpa_of(TypedPressure const& what) {
    auto const file = pressure_file("C-1", what, act().now);
    if (!file) return -1;
    auto const read = read_pressure_file(to_text(*file), "test");
    return read ? in_kilopascal(read->pressure) : -2;
}
std::string certificate() {
    return *read_file(std::string(GW_SOURCE_DIR) + "/data/demo/calibration_gas.json");
}

TEST(CylinderPressure, IsTheSameInEveryUnit) {
    EXPECT_DOUBLE_EQ(kpa_of(typed(3900, "kPa")), 3900);
    EXPECT_NEAR(kpa_of(typed(39, "bar")), 3900, 1e-9);
    EXPECT_NEAR(kpa_of(typed(3.9, "MPa")), 3900, 1e-9);
    EXPECT_NEAR(kpa_of(typed(38, "bar gauge", 100)), 3900, 1e-9);
    EXPECT_NEAR(kpa_of(typed(3.8, "MPa gauge", 100)), 3900, 1e-9);
    // psi: NIST SP 811, appendix B: 6.894757 kPa.
    EXPECT_NEAR(kpa_of(typed(1000, "psig", 101.325)), 6894.757 + 101.325, 1e-6);
    auto air = typed(38, "bar gauge", 1000);
    air.ambient_unit = "mbar";
    EXPECT_NEAR(kpa_of(air), 3900, 1e-9);
}

TEST(CylinderPressure, AGaugeAloneSaysNothingAbsolute) {
    auto const refused = pressure_file("C-1", typed(38, "bar gauge"), act().now);
    ASSERT_FALSE(refused);
    EXPECT_NE(refused.error().what.find("ambient"), std::string::npos);
    EXPECT_FALSE(pressure_file("C-1", typed(38, "furlongs"), act().now));
    EXPECT_FALSE(pressure_file("C-1", typed(38, "degC"), act().now));
    EXPECT_FALSE(pressure_file("C-1", typed(-5, "bar"), act().now));
    EXPECT_FALSE(pressure_file("C-1", typed(2000, "bar"), act().now)) << "above any cylinder";
    EXPECT_FALSE(pressure_file("C-1", typed(38, "bar gauge", 3), act().now)) << "no air of ours";
    EXPECT_FALSE(pressure_file("C-1", typed(-100, "kPa gauge", 90), act().now)) << "below a vacuum";
    auto cold = typed(38, "bar");
    cold.temperature_c = 400;
    EXPECT_FALSE(pressure_file("C-1", cold, act().now));
}

TEST(CylinderPressure, FileNamesAreNoPaths) {
    EXPECT_EQ(pressure_file_name("../HM 7/4"), "pressure____HM_7_4.json");
    EXPECT_TRUE(may_be_pressure_file(pressure_file_name("HM-7714")));
    EXPECT_FALSE(may_be_pressure_file("photo.json"));
    EXPECT_FALSE(read_pressure_file("{}", "test"));
    EXPECT_FALSE(read_pressure_file("\x89PNG", "test"));
}

TEST(CylinderPressure, MovesWhatTheRegisterSays) {
    store::MemoryStore store;
    ASSERT_TRUE(add_cylinder_bytes(store, certificate(), "c.json", act("2026-03-01T12:00:00Z")));
    auto const day = *parse_date("2026-05-19", "on");
    auto const of = [&] { return (*register_json(store, day, 90))["cylinders"][0]; };
    auto const pressure = [&] {
        auto const cylinder = of();  // kept: the loop must not outlive what it runs over
        for (auto const& f : cylinder["findings"])
            if (f["id"] == "pressure") return f["value"].get<double>();
        return 0.0;
    };
    EXPECT_EQ(pressure(), 4200);
    EXPECT_TRUE(of()["lasts"]["days"].is_null());
    EXPECT_FALSE(of()["lasts"]["why"].get<std::string>().empty());
    ASSERT_TRUE(
        put_pressure(store, "HM-7714", typed(38, "bar gauge", 100), act("2026-03-31T12:00:00Z")));
    EXPECT_NEAR(pressure(), 3900, 1e-9);
    // 300 kPa in 30 days; 3200 kPa above the least are 320 days, of which 49.5 had passed by noon
    // of the day asked about, counted from its beginning.
    EXPECT_NEAR(of()["lasts"]["kpa_per_day"].get<double>(), 10, 1e-9);
    EXPECT_NEAR(of()["lasts"]["days"].get<double>(), 320 - 48.5, 1e-6);
    ASSERT_TRUE(put_pressure(store, "HM-7714", typed(6.9, "bar"), act("2026-05-18T12:00:00Z")));
    auto const empty = of();
    for (auto const& f : empty["findings"])
        if (f["id"] == "pressure") {
            EXPECT_EQ(f["verdict"], "fails");
        }
    EXPECT_EQ(empty["lasts"]["days"], 0);
    EXPECT_FALSE(put_pressure(store, "unknown", typed(38, "bar"), act()));
}

TEST(CylinderPressure, AGaugePressureOfTheCertificateGivesWay) {
    store::MemoryStore store;
    auto json = Json::parse(certificate());
    json.erase("pressure_kpa");
    json["pressure_gauge_kpa"] = 4100;
    json["ambient_kpa"] = 100;
    ASSERT_TRUE(add_cylinder_bytes(store, json.dump(), "c.json", act("2026-03-01T12:00:00Z")));
    ASSERT_TRUE(put_pressure(store, "HM-7714", typed(39, "bar"), act("2026-03-31T12:00:00Z")));
    auto const cylinder =
        (*register_json(store, *parse_date("2026-05-19", "on"), 90))["cylinders"][0];
    ASSERT_FALSE(cylinder["findings"].empty()) << "still readable as a cylinder";
    EXPECT_EQ(cylinder["findings"][3]["value"], 3900);
}

class PressureInVisit : public testing::Test {
  protected:
    store::MemoryStore store;
    std::string id = start_visit(store, {"exchange", "PX-1", "", "", "", ""}, act()).value();

    void certify() {
        VisitAdd add;
        add.request.stage = "prepare";
        add.request.step = "calibration certificate";
        add.file_path = "calibration_gas.json";
        add.bytes = certificate();
        ASSERT_TRUE(add_to_visit(store, id, add, act()));
    }
    metrology::Finding pressure() {
        auto const loaded = load_visit(store, id);
        for (auto const& f : visit_findings(loaded->state, store).findings)
            if (f.id == "pressure") return f;
        return {};
    }
};

TEST_F(PressureInVisit, IsJudgedFromThenOnAndTakenBack) {
    auto const put = [&](TypedPressure const& what, char const* at) {
        return put_pressure_in_visit(
            store, id, "prepare", "calibration certificate", what, act(at));
    };
    auto const early = put(typed(38, "bar"), "2026-05-19T12:01:00+02:00");
    ASSERT_FALSE(early);
    EXPECT_EQ(early.error().code, Errc::not_found);
    certify();
    EXPECT_EQ(*pressure().value, 4200);
    EXPECT_EQ(pressure().inputs.size(), 1U);
    auto const done = put(typed(5.5, "bar gauge", 100), "2026-05-19T12:02:00+02:00");
    ASSERT_TRUE(done) << done.error().what;
    auto const low = pressure();
    EXPECT_NEAR(*low.value, 650, 1e-9);
    EXPECT_EQ(low.verdict, metrology::Verdict::fails);
    EXPECT_EQ(low.inputs.size(), 2U) << "certificate and reading";
    EXPECT_NE(low.note.find("5.5 bar gauge"), std::string::npos);
    // The certificate itself stands: nothing has to be read back again for it.
    auto const loaded = load_visit(store, id);
    EXPECT_EQ(loaded->state.find("calibration certificate")->current()->file,
              "calibration_gas.json");
    ASSERT_TRUE(put(typed(40, "bar"), "2026-05-19T12:03:00+02:00"));
    EXPECT_NEAR(*pressure().value, 4000, 1e-9);
    auto const again = load_visit(store, id);
    ASSERT_TRUE(
        undo_in_visit(store, id, again->state.last, "misread", act("2026-05-19T12:04:00+02:00")));
    EXPECT_NEAR(*pressure().value, 650, 1e-9) << "what was read before stands again";
}

TEST_F(PressureInVisit, TellsTheCylinderItselfWhereItIsKnown) {
    ASSERT_TRUE(add_cylinder_bytes(store, certificate(), "c.json", act()));
    certify();
    ASSERT_TRUE(put_pressure_in_visit(store,
                                      id,
                                      "prepare",
                                      "calibration certificate",
                                      typed(39, "bar"),
                                      act("2026-05-19T12:02:00+02:00")));
    auto const known = show_thing(store, "cylinder", "HM-7714");
    auto const body = Json::parse(known->line.body);
    EXPECT_EQ(body["pressure_kpa"], 3900);
    EXPECT_EQ(body["readings"].size(), 2U);
    auto const loaded = load_visit(store, id);
    ASSERT_TRUE(
        undo_in_visit(store, id, loaded->state.last, "misread", act("2026-05-19T12:03:00+02:00")));
    auto const again = Json::parse(show_thing(store, "cylinder", "HM-7714")->line.body);
    EXPECT_EQ(again["pressure_kpa"], 4200) << "taken back here, it is taken back there";
    EXPECT_EQ(again["readings"].size(), 1U);
}

}  // namespace
}  // namespace gw::desk
