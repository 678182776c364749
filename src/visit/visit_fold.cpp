// The fold of a visit's entries over its plan: visit_state().
#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "base/text.hpp"
#include "visit/clocks.hpp"
#include "visit/register.hpp"
#include "visit/unit.hpp"
#include "visit/visit_state.hpp"

namespace gw::visit {

namespace {

std::string text_of(Json const& body, char const* key) {
    auto const found = body.find(key);
    return found != body.end() && found->is_string() ? found->get<std::string>() : std::string();
}

std::optional<double> number_of(Json const& body, char const* key) {
    auto const found = body.find(key);
    return found != body.end() && found->is_number() ? std::optional(found->get<double>())
                                                     : std::nullopt;
}

std::string because(std::string const& text) { return text.empty() ? "no reason given" : text; }

class Fold {
  public:
    explicit Fold(VisitState& out) : out_(out) {
        for (auto const& stage : out_.plan->stages) out_.stages.push_back(view_of(stage, false));
    }

    void entry(Entry const& entry, Json const& body, bool withdrawn) {
        out_.last = entry.sequence;
        if (withdrawn) out_.undone.push_back(entry.sequence);
        if (entry.kind == "evidence") return evidence(entry, body, withdrawn);
        if (entry.kind == "note") return note(entry, body, withdrawn);
        if (withdrawn) return;
        if (entry.kind == "visit") opened(entry, body);
        if (entry.kind == "settled") settled(entry, body);
        if (entry.kind == "interrupted") {
            out_.state = "interrupted";
            out_.interrupted_because = text_of(body, "reason");
        }
        if (entry.kind == "resumed") resumed();
        if (entry.kind == "way_back") way_back(body);
        if (entry.kind == "end") {
            out_.state = text_of(body, "as");
            out_.end_at = text_of(body, "at").empty() ? entry.recorded : text_of(body, "at");
            out_.end_reason = text_of(body, "reason");
            out_.until = text_of(body, "until");
            out_.owner = text_of(body, "owner");
        }
    }

    void finish() {
        for (auto& stage : out_.stages)
            for (auto& step : stage.steps) {
                for (auto const& before : step.step->after)
                    if (auto const* view = out_.find(before); view != nullptr && !view->carries())
                        step.waits_for.push_back(view->step->name);
            }
        order_by_trusted_time(out_);
    }

  private:
    static StageView view_of(Stage const& stage, bool way_back) {
        StageView view;
        view.stage = &stage;
        view.way_back = way_back;
        for (auto const& step : stage.steps) {
            StepView step_view;
            step_view.step = &step;
            view.steps.push_back(std::move(step_view));
        }
        return view;
    }

    StepView* find(std::string const& name) {
        auto const wanted = plain_name(name);
        for (auto& stage : out_.stages)
            for (auto& step : stage.steps)
                if (plain_name(step.step->name) == wanted) {
                    entered_ = &stage;
                    return &step;
                }
        return nullptr;
    }

    void opened(Entry const& entry, Json const& body) {
        out_.analyser = text_of(body, "analyser");
        out_.title = text_of(body, "title");
        out_.site = text_of(body, "site");
        if (auto const judging = body.find("judging");
            judging != body.end() && judging->is_object())
            out_.judging = *judging;
        out_.opened = entry.recorded;
    }

    static Evidence read(Entry const& entry, Json const& body) {
        Evidence out;
        out.entry = entry.sequence;
        out.recorded = entry.recorded;
        out.at = text_of(body, "at").empty() ? entry.recorded : text_of(body, "at");
        out.clock =
            text_of(body, "at").empty() ? std::string(device_clock) : text_of(body, "at_clock");
        out.by = entry.who;
        out.value = text_of(body, "value");
        out.number = number_of(body, "number");
        out.u = number_of(body, "u");
        out.unit = text_of(body, "unit");
        out.unit_assumed = body.value("unit_assumed", false);
        out.file = text_of(body, "file");
        out.with = text_of(body, "with");
        out.stream = text_of(body, "stream");
        out.text = text_of(body, "text");
        if (!entry.evidence.empty()) out.sha256 = entry.evidence.front();
        for (auto const wants :
             {Wants::words, Wants::reading, Wants::run, Wants::file, Wants::clock, Wants::time})
            if (text_of(body, "kind") == name(wants)) out.kind = wants;
        if (out.unit_assumed)
            out.marks.push_back("the unit was not stated and is taken from the plan");
        return out;
    }

    void evidence(Entry const& entry, Json const& body, bool withdrawn) {
        auto* step = find(text_of(body, "step"));
        if (step == nullptr) return;
        auto const& plan = *step->step;
        auto item = read(entry, body);
        item.in_words = plan.wants != Wants::words && item.kind == Wants::words;
        if (item.in_words)
            item.marks.push_back(fmt::format("in words, not as a {}", name(plan.wants)));
        if (withdrawn) {
            item.standing = Standing::withdrawn;
            step->evidence.push_back(std::move(item));
            return;
        }
        entered_->entered = true;
        // Words beside a reading or a run that stands are a remark and take nothing away.
        auto const* stands = step->current();
        if (item.in_words && stands != nullptr && !stands->in_words) {
            item.standing = Standing::aside;
            step->evidence.push_back(std::move(item));
            return;
        }
        bool const gathers = plan.wants == Wants::run && !item.in_words;
        for (auto& older : step->evidence)
            if (older.standing == Standing::current && (!gathers || older.in_words))
                older.standing = Standing::superseded;
        if (item.number && item.kind == Wants::reading && (plan.low || plan.high)) {
            auto const value = converted(*item.number, item.unit, plan.unit);
            item.outside =
                !value || (plan.low && *value < *plan.low) || (plan.high && *value > *plan.high);
            if (item.outside)
                item.marks.push_back(fmt::format("outside its limit ({})", plan.limit_source));
        }
        step->reason = text_of(body, "override");
        step->by = entry.who;
        step->state = item.outside ? StepState::open : StepState::done;
        if (!step->reason.empty() && plan.step_class != StepClass::safety)
            step->state = StepState::overridden;
        if (!plan.second_person_of.empty()) {
            auto const* first = out_.find(plan.second_person_of);
            auto const* read_from = first == nullptr ? nullptr : first->current();
            if (read_from != nullptr && same_person(read_from->by, item.by)) {
                item.marks.push_back(
                    "read back by the person who entered it: one pair of eyes only");
                if (step->state == StepState::done) step->state = StepState::open;
            }
        }
        if (plan.wants == Wants::clock && item.number) note_clock(plan.name, *item.number);
        if (plan.wants == Wants::time && item.kind == Wants::time) out_.permit_end = item.value;
        step->evidence.push_back(std::move(item));
        read_back_again(plan.name);
    }

    // What was read back is no longer what is entered.
    void read_back_again(std::string const& entered) {
        for (auto& stage : out_.stages)
            for (auto& step : stage.steps) {
                if (plain_name(step.step->second_person_of) != plain_name(entered) ||
                    step.state == StepState::open)
                    continue;
                step.state = StepState::open;
                step.reason = "entered again since it was read back";
                for (auto& evidence : step.evidence)
                    if (evidence.standing == Standing::current)
                        evidence.standing = Standing::expired;
            }
    }

    static bool same_person(std::string const& a, std::string const& b) {
        return lowered(trimmed(a)) == lowered(trimmed(b));
    }

    void note_clock(std::string const& step, double offset_s) {
        std::string const prefix = "clock of the ";
        auto const clock = step.starts_with(prefix) ? step.substr(prefix.size()) : step;
        std::erase_if(out_.clocks, [&](auto const& known) { return known.clock == clock; });
        out_.clocks.push_back({clock, offset_s});
    }

    void note(Entry const& entry, Json const& body, bool withdrawn) {
        auto item = read(entry, body);
        item.standing = withdrawn ? Standing::withdrawn : Standing::aside;
        if (auto* step = find(text_of(body, "step")); step != nullptr)
            step->evidence.push_back(std::move(item));
        else
            out_.notes.push_back(std::move(item));
    }

    void settled(Entry const& entry, Json const& body) {
        auto* step = find(text_of(body, "step"));
        if (step == nullptr) return;
        for (auto const state : {StepState::overridden,
                                 StepState::passed,
                                 StepState::not_done,
                                 StepState::not_obtainable,
                                 StepState::not_applicable})
            if (text_of(body, "how") == name(state)) step->state = state;
        // Only a second person passes a safety hold, whatever the entry claims.
        if (step->step->step_class == StepClass::safety && step->state == StepState::overridden)
            step->state = StepState::open;
        step->reason = because(text_of(body, "reason"));
        step->by = entry.who;
        step->second = text_of(body, "second");
        step->permit = text_of(body, "permit");
        if (step->state == StepState::passed && (step->second.empty() || step->permit.empty()))
            step->state = StepState::open;
        if (step->state != StepState::not_done && step->state != StepState::not_applicable)
            entered_->entered = true;
    }

    // What was true of the place need not be so any more: it is asked for again.
    void resumed() {
        out_.state = "open";
        for (auto& stage : out_.stages)
            for (auto& step : stage.steps) {
                if (!step.step->every_time || step.state == StepState::open) continue;
                step.state = StepState::open;
                step.reason = "to be done again after the interruption";
                for (auto& evidence : step.evidence)
                    if (evidence.standing == Standing::current)
                        evidence.standing = Standing::expired;
                if (step.step->wants == Wants::time) out_.permit_end.clear();
            }
    }

    void way_back(Json const& body) {
        auto const to = plain_name(text_of(body, "to"));
        for (auto const& stage : out_.plan->ways_back)
            if (plain_name(stage.name) == to) {
                bool const taken = std::any_of(
                    out_.ways_taken.begin(), out_.ways_taken.end(), [&](auto const& way) {
                        return way.first == stage.name;
                    });
                if (!taken) out_.stages.push_back(view_of(stage, true));
                out_.ways_taken.emplace_back(stage.name, because(text_of(body, "reason")));
                if (!text_of(body, "until").empty()) out_.until = text_of(body, "until");
                if (!text_of(body, "owner").empty()) out_.owner = text_of(body, "owner");
            }
    }

    VisitState& out_;
    StageView* entered_ = nullptr;
};

}  // namespace

Result<std::string> plan_hash_of(std::vector<Entry> const& entries) {
    if (entries.empty() || entries.front().kind != "visit" || entries.front().evidence.empty())
        return fail(
            Errc::bad_input, "The record does not begin with the opening of a visit.", "journal");
    return entries.front().evidence.front();
}

Result<VisitState> visit_state(Plan plan, std::vector<Entry> const& entries) {
    GW_TRY(auto const plan_hash, plan_hash_of(entries));
    if (!plan.hash.empty() && plan.hash != plan_hash)
        return fail(Errc::conflict, "The visit follows another edition of its plan.", "plan");
    VisitState out;
    out.plan = std::make_shared<Plan const>(std::move(plan));
    out.visit = entries.front().subject;
    auto const out_of_force = withdrawn(entries);
    Fold fold(out);
    for (auto const& entry : entries) {
        auto const body = body_of(entry);
        if (body) fold.entry(entry, body->root().raw(), out_of_force.contains(entry.sequence));
    }
    fold.finish();
    return out;
}

}  // namespace gw::visit
