#include "visit/ledger.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "base/text.hpp"

namespace gw::visit {

namespace {

std::string why_open(StepView const& step) {
    auto const* stands = step.current();
    if (stands != nullptr && stands->outside)
        return fmt::format("{} {} is outside its limit", stands->value, stands->unit);
    if (!step.reason.empty()) return step.reason;
    for (auto const& evidence : step.evidence)
        for (auto const& mark : evidence.marks)
            if (mark.starts_with("read back by the person")) return mark;
    return "open";
}

std::string told(StepView const& step) {
    std::string plain(name(step.state));
    std::replace(plain.begin(), plain.end(), '_', ' ');
    auto out = fmt::format("{} ({}, {})", plain, step.reason, step.by);
    if (!step.second.empty())
        out += fmt::format("; passed by {} under permit {}", step.second, step.permit);
    return out;
}

bool is_conformity_step(Step const& step) {
    return !step.second_person_of.empty() ||
           (step.basis == "as_left" && step.step_class == StepClass::measurement) ||
           step.feeds == "settled";
}

// Opened, and then left before it was restored.
bool left_open(VisitState const& visit) {
    bool opened = false, restored = true;
    for (auto const& stage : visit.stages)
        if (stage.stage->opens && !stage.way_back) {
            opened = opened || stage.entered;
            restored = restored && stage.state() != StepState::open &&
                       stage.state() != StepState::not_done;
        }
    return opened && !restored;
}

bool a_way_back_is_done(VisitState const& visit) {
    return std::any_of(visit.stages.begin(), visit.stages.end(), [](StageView const& stage) {
        return stage.way_back &&
               std::all_of(stage.steps.begin(), stage.steps.end(), [](StepView const& step) {
                   return step.step->step_class != StepClass::safety || step.carries();
               });
    });
}

}  // namespace

Ledger ledger(VisitState const& visit, std::vector<metrology::Finding> const& findings) {
    Ledger out;
    auto const add = [&](std::string what, std::string why, bool work, bool conformity) {
        out.lines.push_back({std::move(what), std::move(why), work, conformity});
    };
    bool const ended_otherwise = visit.ended() && visit.state != "completed";
    bool const turned_back = ended_otherwise || !visit.ways_taken.empty();
    bool const safe_way_back = a_way_back_is_done(visit);
    if (visit.state == "interrupted")
        add("visit", "it is interrupted: " + visit.interrupted_because, true, true);
    for (auto const& stage : visit.stages) {
        // After turning back, the plan's own stages need no longer be walked; those entered count,
        // unless a way back has put its own safe end in their place.
        bool const asked = stage.way_back || !turned_back ||
                           (stage.entered && !(stage.stage->opens && safe_way_back));
        for (auto const& step : stage.steps) {
            auto const what = fmt::format("{}: {}", stage.stage->name, step.step->name);
            bool const safety = step.step->step_class == StepClass::safety;
            bool const needed = is_conformity_step(*step.step);
            if (step.step->step_class == StepClass::note) continue;
            if (step.state == StepState::open) {
                if (asked || needed) add(what, why_open(step), safety && asked, needed);
            } else if (step.state != StepState::done) {
                bool const waived = step.state != StepState::not_applicable;
                add(what, told(step), safety && asked && !step.carries(), needed && waived);
            }
        }
    }
    if (ended_otherwise && left_open(visit) && !safe_way_back)
        add("leaving",
            "the analyser was opened and not restored: take a way back to its end",
            true,
            false);
    if (visit.state == "on-fallback" && (visit.until.empty() || visit.owner.empty()))
        add("fallback", "it has no last day or no owner", true, false);
    bool any = false;
    for (auto const& finding : findings) {
        if (!finding.required) continue;
        any = any || finding.basis != "as_found";
        bool const meets = finding.verdict == metrology::Verdict::meets;
        bool const passed_over = finding.verdict == metrology::Verdict::not_applicable;
        bool const as_found = finding.basis == "as_found";
        if (passed_over || (meets && !finding.provisional)) continue;
        auto why =
            fmt::format("{}: {}", metrology::name(finding.verdict), metrology::value_text(finding));
        if (finding.provisional) why += ", provisional";
        if (!finding.note.empty()) why += "; " + finding.note;
        add(fmt::format("{}{}", finding.title, as_found ? ", as found" : ""),
            std::move(why),
            false,
            !as_found);
    }
    if (!any) add("findings", "no required finding as left could be made yet", false, true);
    out.may_sign_work = std::none_of(
        out.lines.begin(), out.lines.end(), [](auto const& line) { return line.work; });
    out.may_sign_conformity = std::none_of(
        out.lines.begin(), out.lines.end(), [](auto const& line) { return line.conformity; });
    return out;
}

}  // namespace gw::visit
