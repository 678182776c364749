#include "desk/demo_record.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "store/memory_store.hpp"

namespace gw::desk {
namespace {

DemoRecord const& record() {
    static auto const made = DemoRecord::make();
    return *made;
}

TEST(DemoRecord, HasSomethingForEveryStepOfThePlan) {
    auto const text = visit::shipped_plan_text("exchange").value();
    auto const plan = visit::read_plan(text, "exchange").value();
    for (auto const& stage : plan.stages)
        for (auto const& step : stage.steps) {
            auto const adds = record().evidence(step.name);
            ASSERT_TRUE(adds) << step.name;
            for (auto const& add : *adds) EXPECT_EQ(add.request.stage, stage.name) << step.name;
        }
    EXPECT_FALSE(record().evidence("lunch"));
}

TEST(DemoRecord, RunsInOrderOfTime) {
    auto const& all = record().all();
    EXPECT_TRUE(std::is_sorted(all.begin(), all.end(), [](auto const& a, auto const& b) {
        return a.at.milliseconds < b.at.milliseconds;
    }));
}

// The invented visit is complete: nothing stands between it and either signature.
TEST(DemoRecord, LeavesAVisitThatMayBeSigned) {
    store::MemoryStore store;
    auto const id = record().record(store);
    ASSERT_TRUE(id) << one_line(id.error());
    auto const shown = show_visit(store, *id, Instant{1779212000000, 0});
    ASSERT_TRUE(shown);
    EXPECT_EQ(shown->state.state, "completed");
    std::string against;
    for (auto const& line : shown->ledger.lines)
        if (line.work || line.conformity) against += line.what + ": " + line.why + "\n";
    EXPECT_TRUE(shown->ledger.may_sign_work) << against;
    EXPECT_TRUE(shown->ledger.may_sign_conformity) << against;
    EXPECT_TRUE(shown->warnings.empty());
    for (auto const* id_of : {"cv_bias", "leak_rate", "settled", "rings_balance", "compatibility"})
        EXPECT_TRUE(std::any_of(shown->findings.begin(), shown->findings.end(), [&](auto const& f) {
            return f.id == id_of && f.basis != "as_found" && f.verdict == metrology::Verdict::meets;
        })) << id_of;
    EXPECT_TRUE(std::any_of(shown->findings.begin(), shown->findings.end(), [](auto const& f) {
        return f.id == "cv_bias" && f.basis == "as_found" && f.verdict == metrology::Verdict::fails;
    })) << "the story begins with an analyser that reads wrong";
    EXPECT_TRUE(store.check({})->intact());
}

// Nothing is written late or out of order, and a plain step's evidence is no bare words where the
// plan asks for a number, a run or a file.
TEST(DemoRecord, IsWhatThePlanAsksFor) {
    store::MemoryStore store;
    auto const id = record().record(store).value();
    auto const loaded = load_visit(store, id).value();
    for (auto const& stage : loaded.state.stages)
        for (auto const& step : stage.steps)
            for (auto const& evidence : step.evidence) {
                EXPECT_FALSE(evidence.late) << step.step->name;
                EXPECT_FALSE(evidence.in_words) << step.step->name;
                EXPECT_FALSE(evidence.outside) << step.step->name;
            }
}

}  // namespace
}  // namespace gw::desk
