// What a person may record, in which order, and what the record then says.
#include "visit/visit_state.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "base/hash.hpp"
#include "visit/ledger.hpp"
#include "visit/register.hpp"
#include "visit/visit_acts.hpp"
#include "visit/visit_output.hpp"

namespace gw::visit {
namespace {

// A visit in memory: acts become entries, the state is folded anew every time.
class Desk {
  public:
    explicit Desk(std::string const& plan = "exchange")
        : text_(shipped_plan_text(plan).value()), plan_(read_plan(text_, plan).value()) {
        auto entry = open_visit(
            {plan, "PX-1", "", "", "", nullptr}, "PX-1-20260302-0001", sha256(text_), act());
        put(entry);
    }
    Act act(std::string who = "A. Person") {
        clock_ += 60000;
        return {std::move(who), Instant{clock_, 0}, std::nullopt};
    }
    VisitState state() const { return visit_state(plan_, entries_).value(); }
    Result<> record(Result<NewEntry> const& entry) {
        if (!entry) return pass_on(entry.error());
        put(*entry);
        return {};
    }
    Result<> add(std::string const& step,
                 AddRequest request = {},
                 std::string who = "A. Person",
                 std::optional<Instant> at = {}) {
        auto const state_now = state();
        auto const* stage = state_now.plan->stage_of(step);
        request.stage = stage == nullptr ? "" : stage->name;
        request.step = step;
        if (!request.value && !request.file && !request.note && !request.not_done &&
            !request.not_obtainable && !request.not_applicable && !request.override_reason)
            request.value = "seen";
        auto with = act(std::move(who));
        with.at = at;
        return record(visit::add(state_now, request, with));
    }
    // Everything in the order of the plan, up to but without `until`.
    void walk(std::string const& until = {}) {
        auto const first = state();
        for (auto const& stage : first.plan->stages)
            for (auto const& step : stage.steps) {
                if (step.name == until) return;
                if (state().find(step.name)->settled()) continue;
                bool const second = !step.second_person_of.empty();
                auto const done = add(step.name, {}, second ? "B. Person" : "A. Person");
                ASSERT_TRUE(done) << step.name << ": " << one_line(done.error());
            }
    }
    std::vector<Entry> const& entries() const { return entries_; }
    Ledger ledger() const { return visit::ledger(state(), {}); }

  private:
    void put(NewEntry const& entry) {
        Head const head =
            entries_.empty() ? Head{} : Head{entries_.back().sequence, entries_.back().hash};
        entries_.push_back(seal(entry, head).value());
    }
    std::string text_;
    Plan plan_;
    std::vector<Entry> entries_;
    std::int64_t clock_ = 1772000000000;
};

AddRequest value(std::string text, std::optional<std::string> unit = {}) {
    AddRequest out;
    out.value = std::move(text);
    out.unit = std::move(unit);
    return out;
}
AddRequest reason(std::optional<std::string> AddRequest::*which,
                  std::string text = "for a reason") {
    AddRequest out;
    out.*which = std::move(text);
    return out;
}

class EveryPlan : public testing::TestWithParam<std::string> {};

TEST_P(EveryPlan, CanBeWalkedInItsOwnOrder) {
    Desk desk(GetParam());
    desk.walk();
    for (auto const& stage : desk.state().stages)
        EXPECT_EQ(stage.state(), StepState::done) << stage.stage->name;
    EXPECT_TRUE(desk.ledger().may_sign_work);
    EXPECT_FALSE(desk.ledger().may_sign_conformity) << "words alone show no conformity";
    EXPECT_EQ(desk.state().now(), nullptr);
    EXPECT_EQ(desk.state().minutes_needed(), 0);
}

// Each edge of each plan, enforced: a step is refused while one before it is open, and taken after.
TEST_P(EveryPlan, RefusesEveryStepBeforeWhatMustBeFirst) {
    auto const plan = read_plan(shipped_plan_text(GetParam()).value(), "plan").value();
    int edges = 0;
    for (auto const& stage : plan.stages)
        for (auto const& step : stage.steps)
            for (auto const& before : step.after) {
                ++edges;
                Desk desk(GetParam());
                desk.walk(step.name);
                // Take the evidence of the one before out of force again.
                auto const stood = desk.state().find(before)->current()->entry;
                ASSERT_TRUE(desk.record(undo(desk.state(), desk.entries(), stood, "", desk.act())));
                auto const refused = desk.add(step.name);
                ASSERT_FALSE(refused) << step.name << " before " << before;
                EXPECT_EQ(refused.error().code, Errc::conflict);
                EXPECT_NE(refused.error().what.find(before), std::string::npos)
                    << refused.error().what;
                ASSERT_TRUE(desk.add(before));
                EXPECT_TRUE(desk.add(step.name)) << step.name << " after " << before;
            }
    EXPECT_GT(edges, 3);
}

INSTANTIATE_TEST_SUITE_P(Plans,
                         EveryPlan,
                         testing::ValuesIn(shipped_plans()),
                         [](auto const& plan) { return plan.param; });

TEST(SafetyHold, IsNeverDoneByAnOverride) {
    Desk desk;
    auto const alone = desk.add("this device", reason(&AddRequest::override_reason));
    ASSERT_FALSE(alone);
    EXPECT_EQ(desk.state().find("this device")->state, StepState::open);
    auto passed = reason(&AddRequest::override_reason);
    passed.permit = "P-7";
    passed.second = "a. person";  // the same one
    EXPECT_FALSE(desk.add("this device", passed));
    passed.second = "B. Person";
    ASSERT_TRUE(desk.add("this device", passed));
    auto const state = desk.state();
    EXPECT_EQ(state.find("this device")->state, StepState::passed);
    EXPECT_EQ(state.find("this device")->second, "B. Person");
}

TEST(SafetyHold, AForgedOverrideStaysOpen) {
    Desk desk;
    ASSERT_TRUE(desk.record(NewEntry{
        Instant{1, 0},
        "PX-1-20260302-0001",
        "settled",
        "X",
        Json{{"stage", "arrive"}, {"step", "this device"}, {"how", "overridden"}, {"reason", "r"}},
        {}}));
    EXPECT_EQ(desk.state().find("this device")->state, StepState::open);
}

TEST(SafetyHold, NotDoneCarriesNothing) {
    Desk desk;
    desk.walk("power off and locked");
    ASSERT_TRUE(desk.add("power off and locked", reason(&AddRequest::not_done)));
    EXPECT_EQ(desk.state().find("power off and locked")->state, StepState::not_done);
    EXPECT_FALSE(desk.add("proved dead"));
    EXPECT_TRUE(desk.add("proved dead", reason(&AddRequest::not_done)))
        << "to say that it was not done asks for no order";
    EXPECT_FALSE(desk.ledger().may_sign_work);
}

TEST(SafetyHold, AReadingOutsideItsLimitLeavesItOpen) {
    Desk desk;
    desk.walk("gas test");
    ASSERT_TRUE(desk.add("gas test", value("12", "%LEL")));
    EXPECT_EQ(desk.state().find("gas test")->state, StepState::open);
    ASSERT_TRUE(desk.add("gas test", value("0.5 %LEL")));
    auto const state = desk.state();
    EXPECT_EQ(state.find("gas test")->state, StepState::done);
    ASSERT_EQ(state.find("gas test")->evidence.size(), 2U);
    EXPECT_EQ(state.find("gas test")->evidence[0].standing, Standing::superseded);
    EXPECT_FALSE(desk.add("gas test", value("3"))) << "a reading for safety needs its unit";
    EXPECT_FALSE(desk.add("gas test", value("3", "kPa")));
    auto both = value("30", "%LEL");
    both.override_reason = "hurry";
    EXPECT_FALSE(desk.add("gas test", both));
}

TEST(SafetyHold, ALimitIsAppliedInAnyUnit) {
    Desk desk;
    desk.walk("cooled with carrier flowing");
    ASSERT_TRUE(desk.add("cooled with carrier flowing", value("141", "degF")));
    EXPECT_EQ(desk.state().find("cooled with carrier flowing")->state, StepState::open);
    ASSERT_TRUE(desk.add("cooled with carrier flowing", value("139", "degF")));
    EXPECT_EQ(desk.state().find("cooled with carrier flowing")->state, StepState::done);
}

TEST(MeasurementHold, MayBeOverriddenAndSaysSo) {
    Desk desk;
    ASSERT_TRUE(
        desk.add("people told", reason(&AddRequest::override_reason, "nobody at the desk")));
    EXPECT_EQ(desk.state().find("people told")->state, StepState::overridden);
    ASSERT_TRUE(desk.add("calibration certificate", reason(&AddRequest::not_obtainable)));
    EXPECT_EQ(desk.state().find("calibration certificate")->state, StepState::not_obtainable);
    EXPECT_FALSE(desk.add("people told", reason(&AddRequest::override_reason, " ")));
}

TEST(ReadBack, CountsFromASecondPersonOnly) {
    Desk desk;
    ASSERT_TRUE(desk.add("calibration certificate"));
    ASSERT_TRUE(desk.add("calibration certificate read back"));
    EXPECT_EQ(desk.state().find("calibration certificate read back")->state, StepState::open);
    ASSERT_TRUE(desk.add("calibration certificate read back", {}, "B. Person"));
    EXPECT_EQ(desk.state().find("calibration certificate read back")->state, StepState::done);
    ASSERT_TRUE(desk.add("calibration certificate"));
    EXPECT_EQ(desk.state().find("calibration certificate read back")->state, StepState::open)
        << "what is entered is no longer what was read back";
}

TEST(Evidence, IsShownWithBothTimesWhenLate) {
    Desk desk;
    desk.walk("line gas as found");
    auto const now = desk.act().now;
    ASSERT_TRUE(
        desk.add("line gas as found", {}, "A. Person", Instant{now.milliseconds - 7200000, 0}));
    auto const state = desk.state();
    auto const* evidence = state.find("line gas as found")->current();
    EXPECT_TRUE(evidence->late);
    EXPECT_NE(evidence->at, evidence->recorded);
    bool before = false;
    for (auto const& mark : evidence->marks)
        before = before || mark.find("automatic calibration off") != std::string::npos;
    EXPECT_TRUE(before) << "it was run before automatic calibration was off, and says so";
    EXPECT_FALSE(
        desk.add("line gas as found", {}, "A. Person", Instant{now.milliseconds + 86400000, 0}))
        << "the future";
}

TEST(Evidence, WordsBesideARunAreARemark) {
    Desk desk;
    desk.walk("line gas as found");
    AddRequest run;
    run.file = GivenFile{"run.csv", sha256("run"), true, std::nullopt, "2"};
    ASSERT_TRUE(desk.add("line gas as found", run));
    ASSERT_TRUE(desk.add("line gas as found", run));
    ASSERT_TRUE(desk.add("line gas as found", value("looks odd")));
    auto const state = desk.state();
    auto const& evidence = state.find("line gas as found")->evidence;
    ASSERT_EQ(evidence.size(), 3U);
    EXPECT_EQ(evidence[0].standing, Standing::current) << "runs gather";
    EXPECT_EQ(evidence[2].standing, Standing::aside);
    EXPECT_EQ(evidence[0].stream, "2");
}

TEST(Notes, AreTakenAnywhereAndSettleNothing) {
    Desk desk;
    ASSERT_TRUE(desk.add("power on", reason(&AddRequest::note, "fuse box is behind the door")));
    EXPECT_EQ(desk.state().find("power on")->state, StepState::open);
    EXPECT_FALSE(desk.add("power on"));
}

TEST(Undo, TakesTheLastThingBackAndLeavesItVisible) {
    Desk desk;
    ASSERT_TRUE(desk.add("people told"));
    ASSERT_TRUE(
        desk.record(undo(desk.state(), desk.entries(), std::nullopt, "wrong visit", desk.act())));
    auto state = desk.state();
    EXPECT_EQ(state.find("people told")->state, StepState::open);
    ASSERT_EQ(state.find("people told")->evidence.size(), 1U);
    EXPECT_EQ(state.find("people told")->evidence[0].standing, Standing::withdrawn);
    EXPECT_FALSE(undo(desk.state(), desk.entries(), std::nullopt, "", desk.act()))
        << "nothing is left to undo";
    EXPECT_FALSE(undo(desk.state(), desk.entries(), 1, "", desk.act())) << "the opening stays";
    ASSERT_TRUE(desk.record(undo(desk.state(), desk.entries(), 3, "it was right", desk.act())));
    EXPECT_EQ(desk.state().find("people told")->state, StepState::done);
}

TEST(Interruption, AsksAgainForWhatNeedNotHoldAnyMore) {
    Desk desk;
    desk.walk("opened under gas test");
    ASSERT_TRUE(desk.record(interrupt(desk.state(), "night", desk.act())));
    EXPECT_FALSE(desk.add("opened under gas test")) << "an interrupted visit is resumed first";
    EXPECT_FALSE(desk.ledger().may_sign_work);
    ASSERT_TRUE(desk.record(resume(desk.state(), desk.act())));
    auto const state = desk.state();
    for (auto const* again :
         {"gas test", "permit", "power off and locked", "proved dead", "zero held"}) {
        EXPECT_EQ(state.find(again)->state, StepState::open) << again;
        EXPECT_EQ(state.find(again)->evidence.back().standing, Standing::expired) << again;
    }
    EXPECT_EQ(state.find("settings saved")->state, StepState::done);
    EXPECT_FALSE(desk.add("opened under gas test"));
    EXPECT_EQ(state.now()->step->name, "this device");
}

TEST(WayBack, StandsOpenFromEveryStageAndComesFirst) {
    auto const plan = read_plan(shipped_plan_text("exchange").value(), "plan").value();
    for (auto const& stage : plan.stages) {
        Desk desk;
        desk.walk(stage.steps.front().name);
        ASSERT_TRUE(desk.record(
            take_way_back(desk.state(), {"stop and make safe", "storm", "", ""}, desk.act())))
            << stage.name;
        auto const state = desk.state();
        EXPECT_EQ(state.now()->step->name, "stopped: gases");
        EXPECT_TRUE(desk.record(take_way_back(
            state, {"leave on fallback", "no spare", "2026-03-09", "C. Person"}, desk.act())));
        EXPECT_EQ(desk.state().owner, "C. Person");
    }
    Desk desk;
    EXPECT_FALSE(
        take_way_back(desk.state(), {"leave on fallback", "no spare", "", ""}, desk.act()));
    EXPECT_FALSE(take_way_back(desk.state(), {"run away", "x", "", ""}, desk.act()));
}

TEST(Ending, OpenedAndLeftIsSafeOnlyByAWayBackToItsEnd) {
    Desk desk;
    desk.walk("module in");
    ASSERT_TRUE(desk.record(end(desk.state(), {"abandoned", "storm", "", ""}, desk.act())));
    EXPECT_FALSE(desk.ledger().may_sign_work);
    EXPECT_FALSE(desk.add("rings renewed")) << "an ended visit takes nothing more";

    Desk safe;
    safe.walk("module in");
    ASSERT_TRUE(safe.record(
        take_way_back(safe.state(), {"stop and make safe", "storm", "", ""}, safe.act())));
    for (auto const* step : {"stopped: gases",
                             "stopped: power",
                             "stopped: enclosure",
                             "stopped: area tested",
                             "stopped: people told"})
        ASSERT_TRUE(safe.add(step)) << step;
    ASSERT_TRUE(safe.record(end(safe.state(), {"abandoned", "storm", "", ""}, safe.act())));
    EXPECT_TRUE(safe.ledger().may_sign_work) << safe.ledger().lines.front().what;
    EXPECT_FALSE(safe.ledger().may_sign_conformity);
}

TEST(Ending, TakesLateEvidenceOfTheTimeBefore) {
    Desk desk;
    auto const early = desk.act().now;
    ASSERT_TRUE(desk.record(end(desk.state(), {"completed", "", "", ""}, desk.act())));
    EXPECT_FALSE(desk.ledger().may_sign_work);
    EXPECT_TRUE(desk.add("people told", {}, "A. Person", early));
    EXPECT_FALSE(end(desk.state(), {"abandoned", "", "", ""}, desk.act()));
    Desk other;
    EXPECT_FALSE(end(other.state(), {"finished", "", "", ""}, other.act()));
    EXPECT_FALSE(end(other.state(), {"on-fallback", "", "yesterday", ""}, other.act()));
}

TEST(Ending, OnFallbackNeedsADayAndAnOwnerForTheSignature) {
    for (bool const owned : {false, true}) {
        Desk desk;
        ASSERT_TRUE(desk.record(
            end(desk.state(),
                {"on-fallback", "no spare", owned ? "2026-03-09" : "", owned ? "C" : ""},
                desk.act())));
        EXPECT_EQ(desk.ledger().may_sign_work, owned);
    }
}

TEST(Clocks, AreOffsetsFromATrustedTime) {
    Desk desk;
    desk.walk("clock of the analyser");
    auto const trusted = desk.act().now;
    ASSERT_TRUE(desk.add("clock of the analyser",
                         value(to_text(Instant{trusted.milliseconds + 95000, 0})),
                         "A. Person",
                         trusted));
    ASSERT_TRUE(desk.add("clock of the laptop", value("-2")));
    auto const state = desk.state();
    ASSERT_EQ(state.clocks.size(), 2U);
    EXPECT_EQ(state.clocks[0].clock, "analyser");
    EXPECT_DOUBLE_EQ(state.clocks[0].offset_s, 95);
    EXPECT_DOUBLE_EQ(state.clocks[1].offset_s, -2);
}

AddRequest run_of(Instant said) {
    AddRequest out;
    out.file = GivenFile{"run.csv", sha256("run"), true, said, "1", {}};
    return out;
}

TEST(Clocks, PutRunsInTheOrderOfTheTrustedTime) {
    // The analyser is 40 min slow: by its own time the run came before the fallback was on.
    constexpr std::int64_t slow = 40 * 60000;
    for (bool const compared : {false, true}) {
        Desk desk;
        desk.walk("clock of the analyser");
        if (compared) {
            ASSERT_TRUE(desk.add("clock of the analyser", value("-2400")));
        } else {
            ASSERT_TRUE(desk.add("clock of the analyser", value("not looked at")));
        }
        desk.walk("calibration gas as found");
        auto const now = desk.act().now;
        ASSERT_TRUE(desk.add("calibration gas as found", run_of({now.milliseconds - slow, 0})));
        auto const state = desk.state();
        auto const& run = *state.find("calibration gas as found")->current();
        EXPECT_EQ(run.clock, "analyser");
        EXPECT_EQ(run.late, !compared);
        auto const before = std::count_if(run.marks.begin(), run.marks.end(), [](auto const& mark) {
            return mark.find(", before \"") != std::string::npos;
        });
        EXPECT_EQ(before > 0, !compared);
        EXPECT_EQ(run.trusted, compared ? to_text(Instant{now.milliseconds, 0}) : "");
    }
}

TEST(Clocks, ARunOfAFastAnalyserIsTakenOnceItsClockIsCompared) {
    constexpr std::int64_t fast = 90 * 60000;
    Desk desk;
    desk.walk("clock of the analyser");
    auto const unknown =
        desk.add("line gas as found", run_of({desk.act().now.milliseconds + fast, 0}));
    ASSERT_FALSE(unknown);
    EXPECT_NE(unknown.error().mend.find("clock of the analyser"), std::string::npos);
    ASSERT_TRUE(desk.add("clock of the analyser", value("90", "min")));
    desk.walk("line gas as found");
    EXPECT_TRUE(desk.add("line gas as found", run_of({desk.act().now.milliseconds + fast, 0})));
}

TEST(Clocks, ADeviceIsNotComparedWithItself) {
    Desk desk;
    desk.walk("clock of the laptop");
    auto const itself =
        desk.add("clock of the laptop", value(to_text(Instant{desk.act().now.milliseconds, 0})));
    ASSERT_FALSE(itself);
    EXPECT_EQ(itself.error().where, "--at");
}

TEST(Clocks, TheDevicesOwnOffsetIsInWhatItComparesLater) {
    Desk desk;
    desk.walk("clock of the laptop");
    ASSERT_TRUE(desk.add("clock of the laptop", value("60")));
    auto const shown = desk.act().now.milliseconds + 60000;  // when the act is: a minute later
    ASSERT_TRUE(desk.add("clock of the analyser", value(to_text(Instant{shown, 0}))));
    auto const state = desk.state();
    for (auto const& clock : state.clocks)
        if (clock.clock == "analyser") {
            EXPECT_DOUBLE_EQ(clock.offset_s, 60);
        }
}

TEST(PermitTime, IsHeldAgainstWhatIsStillNeeded) {
    Desk desk;
    desk.walk("permit end");
    auto const now = desk.act().now;
    ASSERT_TRUE(desk.add("permit end", value(to_text(Instant{now.milliseconds + 3600000, 60}))));
    auto const left = permit_minutes_left(desk.state(), now);
    ASSERT_TRUE(left);
    EXPECT_NEAR(*left, 60, 0.1);
    EXPECT_GT(desk.state().minutes_needed(), 300);
}

TEST(Fold, GivesTheSameFromTheSameEntries) {
    Desk desk;
    desk.walk("power on");
    auto const shown = [&] {
        auto state = desk.state();
        auto ledger = visit::ledger(state, {});
        return visit_json({state, {}, ledger, {}, Instant{0, 0}}).dump();
    };
    EXPECT_EQ(shown(), shown());
}

TEST(Fold, PassesOverWhatALaterProgramWrote) {
    Desk desk;
    auto const before = desk.state().stages.size();
    ASSERT_TRUE(desk.record(
        NewEntry{Instant{1, 0}, "PX-1-20260302-0001", "hologram", "X", Json{{"x", 1}}, {}}));
    ASSERT_TRUE(desk.record(
        NewEntry{Instant{1, 0}, "PX-1-20260302-0001", "evidence", "X", Json{{"step", 7}}, {}}));
    EXPECT_EQ(desk.state().stages.size(), before);
}

TEST(Output, NeverGivesLeave) {
    Desk desk;
    desk.walk("power on");
    auto state = desk.state();
    auto ledger = visit::ledger(state, {});
    auto const text = visit_text({state, {}, ledger, {}, Instant{0, 0}});
    for (auto const* word :
         {"may proceed", "safe to", "cleared", "you can proceed", "permitted to"})
        EXPECT_EQ(text.find(word), std::string::npos) << word;
    EXPECT_NE(text.find("CAUTION"), std::string::npos);
    EXPECT_NE(text.find("NOW"), std::string::npos);
}

}  // namespace
}  // namespace gw::visit
