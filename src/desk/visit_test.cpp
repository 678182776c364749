#include "desk/visit.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>
#include <nlohmann/json.hpp>

#include "base/file.hpp"
#include "desk/store.hpp"
#include "desk/thing.hpp"
#include "store/memory_store.hpp"

namespace gw::desk {
namespace {

visit::Act act(std::int64_t minute = 0, std::string who = "A. Person") {
    return {std::move(who), Instant{1772000000000 + minute * 60000, 0}, std::nullopt};
}

VisitAdd value(std::string stage, std::string step, std::string text) {
    VisitAdd out;
    out.request.stage = std::move(stage);
    out.request.step = std::move(step);
    out.request.value = std::move(text);
    return out;
}

TEST(Visit, MakesAnUnknownAnalyserAndKeepsItsPlan) {
    store::MemoryStore store;
    auto const id = start_visit(store, {"exchange", "PX 1/a", "", "", "", ""}, act()).value();
    EXPECT_EQ(id.substr(0, 16), "PX-1-a-20260225-");
    EXPECT_TRUE(store.thing("analyser:PX 1/a").value());
    auto const loaded = load_visit(store, id).value();
    EXPECT_EQ(loaded.state.plan->name, "exchange");
    EXPECT_TRUE(store.check({})->intact());
    auto const second = start_visit(store, {"exchange", "PX 1/a", "", "", "", ""}, act()).value();
    EXPECT_NE(id, second) << "two visits of one minute are two";
    EXPECT_EQ(store.of_subject("analyser:PX 1/a")->size(), 1U);
}

TEST(Visit, IsFoundByTheBeginningOfItsName) {
    store::MemoryStore store;
    auto const a = start_visit(store, {"exchange", "AA", "", "", "", ""}, act()).value();
    auto const b = start_visit(store, {"exchange", "AB", "", "", "", ""}, act()).value();
    EXPECT_EQ(load_visit(store, "aa")->state.visit, a);
    EXPECT_FALSE(load_visit(store, "a"));
    EXPECT_FALSE(load_visit(store, ""));
    EXPECT_FALSE(load_visit(store, "zz"));
}

TEST(Visit, TakesCriteriaAndReferenceFromItsAnalyser) {
    store::MemoryStore store;
    ASSERT_TRUE(
        add_thing(store,
                  {"analyser", "PX", {"criteria=oiml-a", "combustion_c=25", "site=North"}, ""},
                  act()));
    auto const id = start_visit(store, {"routine proving", "PX", "", "", "", ""}, act()).value();
    auto const state = load_visit(store, id)->state;
    EXPECT_EQ(state.judging.at("criteria"), "oiml-a");
    EXPECT_EQ(state.site, "North");
    EXPECT_FALSE(start_visit(store, {"exchange", "PX", "", "", "", "nonsense"}, act()));
}

// A field whose name is longer than a short string keeps in itself.
TEST(Things, KeepFieldsOfLongNames) {
    store::MemoryStore store;
    ASSERT_TRUE(add_thing(
        store,
        {"analyser", "PX", {"energy_of_a_usual_day_mwh=24300", "competence_until_when=words"}, ""},
        act()));
    auto const known = store.thing("analyser:PX").value()->body;
    EXPECT_EQ(known, R"({"competence_until_when":"words","energy_of_a_usual_day_mwh":24300.0})");
}

// Somebody who is known must have a role that the step asks for; somebody unknown is taken at his
// word.
TEST(Visit, AsksForTheRoleOfKnownPeople) {
    store::MemoryStore store;
    ASSERT_TRUE(add_thing(store, {"person", "C. Person", {"roles=[\"technician\"]"}, ""}, act()));
    ASSERT_TRUE(add_thing(store, {"person", "D. Person", {"roles=[\"electrical\"]"}, ""}, act()));
    auto const id = start_visit(store, {"exchange", "PX", "", "", "", ""}, act()).value();
    for (auto const* step : {"fallback in force"})
        ASSERT_TRUE(add_to_visit(store, id, value("arrive", step, "seen"), act(1)));
    for (auto const* step : {"sample gas off", "calibration gas off"})
        ASSERT_TRUE(add_to_visit(store, id, value("make safe", step, "seen"), act(2)));
    auto const locked = value("make safe", "power off and locked", "lock 12");
    auto const refused = add_to_visit(store, id, locked, act(3, "C. Person"));
    ASSERT_FALSE(refused);
    EXPECT_EQ(refused.error().where, "--by");
    EXPECT_TRUE(add_to_visit(store, id, locked, act(3, "D. Person")));
}

TEST(Visit, SeveralRunAtOnceWithoutTouchingEachOther) {
    store::MemoryStore store;
    auto const a = start_visit(store, {"exchange", "AA", "", "", "", ""}, act()).value();
    auto const b = start_visit(store, {"routine_proving", "AB", "", "", "", ""}, act()).value();
    ASSERT_TRUE(add_to_visit(store, a, value("prepare", "people told", "yes"), act(1)));
    auto const before = visit::visit_json(*show_visit(store, b, act(5).now)).dump();
    ASSERT_TRUE(add_to_visit(store, a, value("prepare", "reason", "again"), act(2)));
    ASSERT_TRUE(end_visit(store, a, {"abandoned", "x", "", ""}, act(3)));
    EXPECT_EQ(visit::visit_json(*show_visit(store, b, act(5).now)).dump(), before);
}

TEST(Visit, WritesIntoThePassportOfAModule) {
    store::MemoryStore store;
    auto const id = start_visit(store, {"exchange", "PX", "", "", "", ""}, act()).value();
    ASSERT_TRUE(turn_back(store, id, {"refit the old module", "no spare", "", ""}, act(1)));
    auto const added =
        add_to_visit(store, id, value("refit the old module", "refit: module in", "M-1"), act(2));
    ASSERT_TRUE(added) << added.error().what;
    EXPECT_EQ(added->entry.subject, id);
    auto const passport = show_thing(store, "module", "M-1").value();
    EXPECT_NE(passport.line.body.find("\"what\":\"in\""), std::string::npos);
    EXPECT_NE(passport.line.body.find(id), std::string::npos);
    ASSERT_TRUE(undo_in_visit(store, id, std::nullopt, "wrong serial", act(3)));
    EXPECT_NE(store.thing("module:M-1").value()->body.find("\"undone\":true"), std::string::npos);
    EXPECT_TRUE(store.check({})->intact());
}

TEST(Visit, WarnsOfAnInstrumentPastItsCalibration) {
    store::MemoryStore store;
    ASSERT_TRUE(add_thing(store, {"instrument", "T-3", {"calibration_due=2026-01-31"}, ""}, act()));
    auto const id = start_visit(store, {"exchange", "PX", "", "", "", ""}, act()).value();
    auto reading = value("arrive", "gas test", "0 %LEL");
    reading.request.with = "T-3";
    ASSERT_TRUE(add_to_visit(store, id, reading, act(1)));
    auto const shown = show_visit(store, id, act(2).now).value();
    ASSERT_EQ(shown.warnings.size(), 1U);
    EXPECT_NE(shown.warnings[0].find("T-3"), std::string::npos);
}

TEST(Visit, ARunThatCannotBeReadIsRefusedAtTheDoor) {
    store::MemoryStore store;
    auto const id = start_visit(store, {"exchange", "PX", "", "", "", ""}, act()).value();
    auto const path =
        std::filesystem::temp_directory_path() / fmt::format("gw_visit_{}.csv", getpid());
    ASSERT_TRUE(write_file(path.string(), "time_s,signal\n0,1\n0,nonsense\n"));
    VisitAdd run;
    run.request.stage = "as found";
    run.request.step = "line gas as found";
    run.run_path = path.string();
    auto const before = store.head().value();
    EXPECT_FALSE(add_to_visit(store, id, run, act(1)));
    EXPECT_EQ(store.head().value(), before);
    std::filesystem::remove(path);
}

TEST(Things, FallDueSoonestFirst) {
    store::MemoryStore store;
    ASSERT_TRUE(
        add_thing(store, {"instrument", "G-17", {"calibration_due=2026-03-20"}, ""}, act()));
    ASSERT_TRUE(add_thing(store, {"rings", "L-5", {"use_by=2026-03-10"}, ""}, act()));
    auto const id = start_visit(store, {"exchange", "PX", "", "", "", ""}, act()).value();
    ASSERT_TRUE(
        end_visit(store, id, {"on-fallback", "no spare", "2026-03-15", "C. Person"}, act(1)));
    auto const list = due(store, parse_date("2026-03-12", "").value(), 30).value();
    ASSERT_EQ(list.size(), 3U);
    EXPECT_EQ(list[0].thing, "rings:L-5");
    EXPECT_EQ(list[0].days_left, -2);
    EXPECT_EQ(list[1].thing, id);
    EXPECT_EQ(list[2].thing, "instrument:G-17");
    EXPECT_FALSE(add_thing(store, {"instrument", "G-18", {"calibration_due=soon"}, ""}, act()));
    EXPECT_FALSE(add_thing(store, {"instrument", "G-18", {"nothing"}, ""}, act()));
}

TEST(StoreFile, IsTheOptionOrTheUsersPlace) {
    EXPECT_EQ(store_file("x.db", "/d", "/h"), "x.db");
    EXPECT_EQ(store_file("", "/d", "/h"), "/d/gaswright/gaswright.db");
    EXPECT_EQ(store_file("", "relative", "/h"), "/h/.local/share/gaswright/gaswright.db");
    EXPECT_EQ(store_file("", "", "/h"), "/h/.local/share/gaswright/gaswright.db");
}

}  // namespace
}  // namespace gw::desk
