#include "visit/plan.hpp"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

namespace gw::visit {
namespace {

Plan shipped(std::string const& name) {
    auto const plan = read_plan(shipped_plan_text(name).value(), name);
    EXPECT_TRUE(plan) << plan.error().where << plan.error().what;
    return *plan;
}

bool is_after(Plan const& plan, std::string const& later, std::string const& earlier) {
    auto const* step = plan.find(later);
    if (step == nullptr) return false;
    for (auto const& before : step->after)
        if (plain_name(before) == plain_name(earlier) || is_after(plan, before, earlier))
            return true;
    return false;
}

class Shipped : public testing::TestWithParam<std::string> {};

TEST_P(Shipped, IsReadAndComplete) {
    auto const plan = shipped(GetParam());
    EXPECT_EQ(plan.name, GetParam());
    EXPECT_FALSE(plan.ways_back.empty());
    for (auto const* part : {&plan.stages, &plan.ways_back})
        for (auto const& stage : *part)
            for (auto const& step : stage.steps)
                if (step.step_class == StepClass::safety) {
                    EXPECT_NE(step.caution.find("maker's instructions"), std::string::npos)
                        << step.name;
                    EXPECT_NE(step.caution.find("permit"), std::string::npos) << step.name;
                    EXPECT_NE(step.caution.find("ocal codes"), std::string::npos) << step.name;
                }
}

TEST_P(Shipped, BeginsItsCautionsWithThisDevice) {
    auto const plan = shipped(GetParam());
    ASSERT_FALSE(plan.cautions.empty());
    EXPECT_NE(plan.cautions.front().find("source of ignition"), std::string::npos);
}

TEST_P(Shipped, NeverGivesLeave) {
    auto const text = shipped_plan_text(GetParam()).value();
    for (auto const* word : {"you may proceed",
                             "safe to proceed",
                             "may now",
                             "it is safe",
                             "you can now",
                             "cleared to"})
        EXPECT_EQ(text.find(word), std::string::npos) << word;
}

TEST_P(Shipped, OffersAWayOut) {
    auto const plan = shipped(GetParam());
    bool stop = false, fallback = false;
    for (auto const& way : plan.ways_back) {
        stop = stop || way.name == "stop and make safe";
        fallback = fallback || way.name == "leave on fallback";
    }
    EXPECT_TRUE(stop && fallback);
}

INSTANTIATE_TEST_SUITE_P(Plans, Shipped, testing::ValuesIn(shipped_plans()), [](auto const& plan) {
    return plan.param;
});

TEST(ExchangePlan, HasTheTwelveStagesInOrder) {
    auto const plan = shipped("exchange");
    std::vector<std::string> names;
    for (auto const& stage : plan.stages) names.push_back(stage.name);
    EXPECT_EQ(names,
              (std::vector<std::string>{"prepare",
                                        "arrive",
                                        "as found",
                                        "decide",
                                        "make safe",
                                        "exchange",
                                        "restore",
                                        "settle",
                                        "retime",
                                        "calibrate",
                                        "prove",
                                        "hand back"}));
    EXPECT_EQ(plan.ways_back.size(), 3U);
}

// The orders that matter, one by one.
struct Order {
    char const *plan, *later, *earlier;
};
class Orders : public testing::TestWithParam<Order> {};

TEST_P(Orders, IsInThePlan) {
    auto const& order = GetParam();
    EXPECT_TRUE(is_after(shipped(order.plan), order.later, order.earlier))
        << order.later << " after " << order.earlier;
}

INSTANTIATE_TEST_SUITE_P(
    Exchange,
    Orders,
    testing::Values(Order{"exchange", "line gas as found", "automatic calibration off"},
                    Order{"exchange", "calibration gas as found", "automatic calibration off"},
                    Order{"exchange", "proving gas as found", "automatic calibration off"},
                    Order{"exchange", "automatic calibration on", "automatic calibration off"},
                    Order{"exchange", "calibration gas as found", "fallback in force"},
                    Order{"exchange", "calibration gas runs", "fallback in force"},
                    Order{"exchange", "proved dead", "power off and locked"},
                    Order{"exchange", "power off and locked", "sample gas off"},
                    Order{"exchange", "power off and locked", "calibration gas off"},
                    Order{"exchange", "carrier off", "cooled with carrier flowing"},
                    Order{"exchange", "carrier off", "sample gas off"},
                    Order{"exchange", "carrier off", "calibration gas off"},
                    Order{"exchange", "carrier off", "proved dead"},
                    Order{"exchange", "actuation gas off", "cooled with carrier flowing"},
                    Order{"exchange", "zero held", "carrier off"},
                    Order{"exchange", "zero held", "actuation gas off"},
                    Order{"exchange", "opened under gas test", "zero held"},
                    Order{"exchange", "flow dies away", "opened under gas test"},
                    Order{"exchange", "module out", "flow dies away"},
                    Order{"exchange", "module in", "module out"},
                    Order{"exchange", "rings renewed", "rings out"},
                    Order{"exchange", "carrier and actuation gas on", "rings renewed"},
                    Order{"exchange", "power on", "carrier and actuation gas on"},
                    Order{"exchange", "power on", "tight"},
                    Order{"exchange", "power on", "purged"},
                    Order{"exchange", "power on", "enclosure closed"},
                    Order{"exchange", "power on", "gas test before power"},
                    Order{"exchange", "sample and calibration gas on", "power on"},
                    Order{"exchange", "calibration gas runs", "sample and calibration gas on"},
                    Order{"exchange", "fallback off", "line gas on"},
                    Order{"exchange", "permit closed", "permit"},
                    Order{"exchange", "refit: power on", "refit: tight and purged"},
                    Order{"exchange", "refit: sample and calibration gas on", "refit: power on"}));
INSTANTIATE_TEST_SUITE_P(
    Others,
    Orders,
    testing::Values(
        Order{"calibration_gas_change", "old cylinder shut", "new gas verified"},
        Order{"calibration_gas_change", "new gas verified", "new gas runs"},
        Order{"calibration_gas_change", "new gas verified", "old gas runs"},
        Order{"calibration_gas_change", "new gas runs", "automatic calibration off"},
        Order{"calibration_gas_change", "calibration gas runs", "regulator purged"},
        Order{"carrier_change", "carrier off", "sample and calibration gas off"},
        Order{"carrier_change", "carrier off", "cooled with carrier flowing"},
        Order{"carrier_change", "power on", "purged"},
        Order{"carrier_change", "sample and calibration gas on", "power on"},
        Order{"fault_call", "repair", "zero held"},
        Order{"fault_call", "power on", "tight"},
        Order{"routine_proving", "proving gas as found", "automatic calibration off"},
        Order{"routine_proving", "automatic calibration on", "automatic calibration off"},
        Order{"commissioning", "power on", "tight"},
        Order{"commissioning", "carrier and actuation gas on", "inspected before first use"},
        Order{"commissioning", "sample and calibration gas on", "power on"}));

// ---- the reader is strict

Json small() {
    return Json{{"name", "p"},
                {"title", "P"},
                {"stages",
                 Json::array({Json{{"name", "one"},
                                   {"establishes", "x"},
                                   {"steps",
                                    Json::array({Json{{"name", "a"},
                                                      {"what", "w"},
                                                      {"why", "y"},
                                                      {"class", "note"},
                                                      {"wants", "words"}},
                                                 Json{{"name", "b"},
                                                      {"what", "w"},
                                                      {"why", "y"},
                                                      {"class", "note"},
                                                      {"wants", "words"}}})}}})}};
}

TEST(PlanReader, TakesASmallPlan) { EXPECT_TRUE(read_plan(small().dump(), "p")); }

TEST(PlanReader, RefusesWithThePlace) {
    auto const refuses = [](Json const& plan, std::string const& where) {
        auto const read = read_plan(plan.dump(), "p");
        ASSERT_FALSE(read) << plan.dump();
        EXPECT_NE(read.error().where.find(where), std::string::npos) << read.error().where;
    };
    auto plan = small();
    auto& steps = plan["stages"][0]["steps"];
    steps[0]["colour"] = "red";
    refuses(plan, "steps[0].colour");
    plan = small();
    plan["stages"][0]["steps"][0]["after"] = Json::array({"b"});
    refuses(plan, "steps[0].after");
    plan = small();
    plan["stages"][0]["steps"][1]["name"] = "A";
    refuses(plan, "steps[1].name");
    plan = small();
    plan["stages"][0]["steps"][1]["class"] = "important";
    refuses(plan, "steps[1].class");
    plan = small();
    plan["stages"][0]["steps"][1]["wants"] = "reading";
    refuses(plan, "steps[1]");
    plan["stages"][0]["steps"][1]["unit"] = "kPa";
    EXPECT_TRUE(read_plan(plan.dump(), "p"));
    plan["stages"][0]["steps"][1]["high"] = 3;
    refuses(plan, "steps[1]");
    plan["stages"][0]["steps"][1]["limit_source"] = "x";
    plan["stages"][0]["steps"][1]["low"] = 4;
    refuses(plan, "steps[1]");
    plan = small();
    plan["stages"] = Json::array();
    refuses(plan, "");
    plan = small();
    plan["schema"] = "gaswright.method/1";
    refuses(plan, "schema");
}

TEST(PlanReader, NamesAreTakenAsPeopleWriteThem) {
    auto const plan = shipped("exchange");
    EXPECT_NE(plan.find("Rings-Renewed"), nullptr);
    EXPECT_EQ(plan.stage_of("rings_renewed")->name, "exchange");
    EXPECT_TRUE(shipped_plan_text("fault call"));
    auto const none = shipped_plan_text("picnic");
    ASSERT_FALSE(none);
    EXPECT_NE(none.error().mend.find("exchange"), std::string::npos);
}

}  // namespace
}  // namespace gw::visit
