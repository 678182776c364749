#include "desk/visit_line.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <stdexcept>

#include "store/memory_store.hpp"

namespace gw::desk {
namespace {

// Eight seconds of nothing with one peak, as a trace without a method.
std::string small_trace() {
    std::string out = "# start: 2026-05-19T10:00:00+02:00\ntime_s,signal\n";
    for (int i = 0; i < 200; ++i) {
        double const t = i * 0.04;
        double const z = (t - 4) / 0.3;
        out += std::to_string(t) + "," +
               std::to_string(z * z < 40 ? 50 * std::exp(-z * z / 2) : 0.0) + "\n";
    }
    return out;
}

class VisitLineTest : public testing::Test {
  protected:
    store::MemoryStore store;
    visit::Act act{"A. Person", *parse_instant("2026-05-19T12:00:00+02:00", "now"), {}};
    std::string id = start_visit(store, {"routine_proving", "PX-1", "", "", "", ""}, act).value();

    Recorded keep_run() {
        VisitAdd add;
        auto const loaded = load_visit(store, id);
        for (auto const& stage : loaded->state.stages)
            for (auto const& step : stage.steps)
                if (step.step->wants == visit::Wants::run && add.request.step.empty()) {
                    add.request.stage = stage.stage->name;
                    add.request.step = step.step->name;
                }
        add.run_path = "run.csv";
        add.bytes = small_trace();
        auto made = add_to_visit(store, id, add, act);
        if (!made) {  // the order of the plan asks for something first
            auto const open = load_visit(store, id);
            for (auto const& stage : open->state.stages)
                for (auto const& step : stage.steps)
                    if (step.state == visit::StepState::open &&
                        step.step->wants != visit::Wants::run) {
                        VisitAdd words;
                        words.request.stage = stage.stage->name;
                        words.request.step = step.step->name;
                        words.request.value = "seen";
                        (void)add_to_visit(store, id, words, act);
                    }
            made = add_to_visit(store, id, add, act);
        }
        if (!made) throw std::runtime_error(made.error().what);
        return *made;
    }
};

TEST_F(VisitLineTest, MarksARunBeforeAnythingCouldBeJudgedOfIt) {
    auto const made = keep_run();
    auto const line = visit_line_json(made.state, {}, store);
    ASSERT_EQ(line["marks"].size(), 1U);
    EXPECT_EQ(line["marks"][0]["entry"], made.entry.sequence);
    EXPECT_EQ(line["marks"][0]["verdict"], "not_yet");
    EXPECT_EQ(line["marks"][0]["at"], "2026-05-19T10:00:00+02:00")
        << "when it ran, not when it was handed in: " << line["marks"][0]["at"];
    EXPECT_TRUE(line["ready"].is_null());
}

TEST_F(VisitLineTest, DrawsAKeptRunAndRefusesWhatIsNone) {
    auto const made = keep_run();
    auto const run = kept_run(made.state, store, made.entry.sequence);
    ASSERT_TRUE(run) << run.error().what;
    ASSERT_EQ((*run)["detectors"].size(), 1U);
    EXPECT_EQ((*run)["detectors"][0]["peaks"].size(), 1U);
    EXPECT_FALSE(kept_run(made.state, store, 1));
}

TEST_F(VisitLineTest, RefusesAnActOnWhatHasGrownSince) {
    auto const before = load_visit(store, id)->state.last;
    keep_run();
    auto late = act;
    late.seen = before;
    auto const refused = interrupt_visit(store, id, "rain", late);
    ASSERT_FALSE(refused);
    EXPECT_EQ(refused.error().code, Errc::conflict);
    EXPECT_EQ(refused.error().where, "seen");
    late.seen = load_visit(store, id)->state.last;
    EXPECT_TRUE(interrupt_visit(store, id, "rain", late));
}

TEST_F(VisitLineTest, KeepsAPhotographBesideAStepThatItDoesNotSettle) {
    auto const loaded = load_visit(store, id);
    auto const& stage = loaded->state.stages.front();
    VisitAdd add;
    add.request.stage = stage.stage->name;
    add.request.step = stage.steps.front().step->name;
    add.request.aside = true;
    add.file_path = "photographs/label.png";
    add.bytes = "\x89PNG";
    auto const made = add_to_visit(store, id, add, act);
    ASSERT_TRUE(made) << made.error().what;
    auto const* step = made->state.find(add.request.step);
    EXPECT_EQ(step->state, visit::StepState::open);
    ASSERT_EQ(step->evidence.size(), 1U);
    EXPECT_EQ(step->evidence[0].file, "label.png");
    EXPECT_EQ(*store.evidence(step->evidence[0].sha256), "\x89PNG");
    add.request.value = "too much";
    EXPECT_FALSE(add_to_visit(store, id, add, act));
}

}  // namespace
}  // namespace gw::desk
