#include "desk/register_view.hpp"

#include <gtest/gtest.h>

#include <filesystem>
#include <nlohmann/json.hpp>

#include "desk/thing.hpp"
#include "desk/visit.hpp"
#include "store/memory_store.hpp"

namespace gw::desk {
namespace {

visit::Act act(std::int64_t minute = 0) {
    return {"A. Person", Instant{1772000000000 + minute * 60000, 0}, std::nullopt};
}
Date day() { return *parse_date("2026-05-19", "on"); }

TEST(Register, IsEmptyForAnEmptyStore) {
    store::MemoryStore store;
    auto const json = register_json(store, day(), 90);
    ASSERT_TRUE(json);
    for (auto const* list : {"analysers", "modules", "cylinders", "others", "due"})
        EXPECT_TRUE((*json)[list].empty()) << list;
}

TEST(Register, ShowsACylinderByWhatItIsGoodForOnThatDay) {
    store::MemoryStore store;
    ASSERT_TRUE(
        add_cylinder(store, std::string(GW_SOURCE_DIR) + "/data/demo/calibration_gas.json", act()));
    auto const json = *register_json(store, day(), 90);
    ASSERT_EQ(json["cylinders"].size(), 1U);
    auto const& cylinder = json["cylinders"][0];
    EXPECT_EQ(cylinder["role"], "calibration");
    ASSERT_EQ(cylinder["findings"].size(), 6U);
    EXPECT_EQ(cylinder["findings"][2]["id"], "expiry");
    EXPECT_GT(cylinder["findings"][2]["value"], 0);
    EXPECT_FALSE(cylinder["readings"].empty());
    // The certificate is shown by its findings, not as words.
    for (auto const& field : cylinder["fields"]) EXPECT_NE(field["name"], "certificate");
    auto const late = *register_json(store, *parse_date("2040-01-01", "on"), 90);
    EXPECT_EQ(late["cylinders"][0]["findings"][2]["verdict"], "fails");
}

TEST(Register, KnowsWhichModuleStandsInTheAnalyser) {
    store::MemoryStore store;
    auto const id = *start_visit(store, {"exchange", "PX", "", "", "", ""}, act());
    ASSERT_TRUE(turn_back(store, id, {"refit the old module", "no spare", "", ""}, act(1)));
    VisitAdd in;
    in.request.stage = "refit the old module", in.request.step = "refit: module in";
    in.request.value = "M-1";
    ASSERT_TRUE(add_to_visit(store, id, in, act(2)));
    auto json = *register_json(store, day(), 90);
    ASSERT_EQ(json["analysers"].size(), 1U);
    EXPECT_EQ(json["analysers"][0]["module"], "M-1");
    EXPECT_EQ(json["analysers"][0]["visits"][0]["visit"], id);
    EXPECT_EQ(json["modules"][0]["events"][0]["what"], "in");
    ASSERT_TRUE(undo_in_visit(store, id, std::nullopt, "wrong serial", act(3)));
    json = *register_json(store, day(), 90);
    EXPECT_EQ(json["modules"][0]["events"].size(), 2U) << "the passport keeps both";
}

TEST(Register, SurvivesWhateverIsKnown) {
    store::MemoryStore store;
    ASSERT_TRUE(
        add_thing(store,
                  {"module", "M", {"events=[1,\"x\",{}]", "readings={}", "offers={\"a\":[1]}"}, ""},
                  act()));
    ASSERT_TRUE(
        add_thing(store, {"cylinder", "C", {"certificate=7", "readings=[1,{}]"}, ""}, act()));
    auto const json = register_json(store, day(), 90);
    ASSERT_TRUE(json);
    EXPECT_TRUE((*json)["cylinders"][0]["findings"].empty());
    EXPECT_TRUE((*json)["cylinders"][0]["verdict"].is_null());
}

}  // namespace
}  // namespace gw::desk
