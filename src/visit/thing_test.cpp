#include "visit/thing.hpp"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "visit/unit.hpp"

namespace gw::visit {
namespace {

TEST(Thing, IsNamedByKindAndId) {
    EXPECT_EQ(thing_subject("analyser", "PX-1").value(), "analyser:PX-1");
    EXPECT_FALSE(thing_subject("submarine", "x"));
    EXPECT_FALSE(thing_subject("analyser", ""));
    EXPECT_FALSE(thing_subject("analyser", " x"));
    EXPECT_FALSE(thing_subject("analyser", "a\nb"));
}

TEST(Thing, IsWhatItsEntriesMakeOfIt) {
    auto known = thing_after(Json::object(), {{"set", {{"a", 1}, {"b", 2}}}});
    known = thing_after(
        known, {{"set", {{"a", nullptr}, {"b", 3}}}, {"reading", {{"pressure_kpa", 9000}}}});
    known = thing_after(known, {{"reading", {{"pressure_kpa", 8000}}}});
    EXPECT_EQ(known.dump(), R"({"b":3,"readings":[{"pressure_kpa":9000},{"pressure_kpa":8000}]})");
}

TEST(Thing, FallsDueOnItsDay) {
    auto const on = parse_date("2026-03-02", "").value();
    Json const known{{"expires", "2026-03-12"}};
    EXPECT_TRUE(due_of("cylinder:K", known, on, 9).empty());
    auto const due = due_of("cylinder:K", known, on, 10);
    ASSERT_EQ(due.size(), 1U);
    EXPECT_EQ(due[0].days_left, 10);
    EXPECT_TRUE(
        due_of("cylinder:K", {{"expires", "2026-03-12"}, {"retired", true}}, on, 10).empty());
    EXPECT_EQ(
        due_of("cylinder:K", {{"expires", "2026-03-12"}, {"retired", "2027-01-02"}}, on, 10).size(),
        1U)
        << "no plain yes";
    EXPECT_EQ(next_due("analyser", {{"proving_due", "2026-05-01"}, {"service_due", "2026-04-01"}}),
              "2026-04-01");
    EXPECT_EQ(next_due("site", known), "");
}

TEST(Compatibility, CoversWhatIsNeeded) {
    Json const needs{{"streams", 2}, {"carrier", "helium"}, {"components", {"methane", "ethane"}}};
    EXPECT_TRUE(compatibility(needs,
                              {{"streams", 4},
                               {"carrier", "Helium "},
                               {"components", {"ethane", "methane", "propane"}}})
                    .mismatches.empty());
    auto const wrong = compatibility(needs, {{"streams", 1}, {"carrier", "hydrogen"}});
    ASSERT_EQ(wrong.mismatches.size(), 3U);
    EXPECT_FALSE(wrong.mismatches[0].undeclared);
    EXPECT_TRUE(wrong.mismatches[2].undeclared);
    EXPECT_EQ(wrong.compared, 3U);
    EXPECT_EQ(compatibility(needs, nullptr).mismatches.size(), 3U);
    EXPECT_EQ(compatibility(nullptr, needs).compared, 0U);
}

TEST(Units, AreTakenToTheUnitOfTheLimit) {
    EXPECT_NEAR(*converted(140, "degF", "degC"), 60, 1e-12);
    EXPECT_NEAR(*converted(333.15, "K", "degC"), 60, 1e-12);
    EXPECT_NEAR(*converted(100, "psi", "kPa"), 689.4757, 1e-9);  // NIST SP 811, appendix B.8
    EXPECT_DOUBLE_EQ(*converted(1, "Pa m3/s", "mbar L/s"), 10);
    EXPECT_DOUBLE_EQ(*converted(195000, "ppm", "%"), 19.5);
    EXPECT_FALSE(converted(1, "kPa", "kPa gauge"));
    EXPECT_FALSE(converted(1, "furlong", "s"));
    EXPECT_NEAR(*converted_difference(1.8, "degF", "degC"), 1, 1e-12);
}

}  // namespace
}  // namespace gw::visit
