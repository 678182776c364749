#include "visit/visit_output.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "base/text.hpp"

namespace gw::visit {

namespace {

Json or_null(std::string const& text) { return text.empty() ? Json(nullptr) : Json(text); }
Json or_null(std::optional<double> const& number) { return number ? Json(*number) : Json(nullptr); }

// A number that the typed text says without loss; else the text: "0012" is a permit, not twelve.
Json value_json(Evidence const& evidence) {
    if (!evidence.file.empty()) return evidence.file;
    if (evidence.kind == Wants::clock && evidence.number) return *evidence.number;
    if (evidence.number &&
        (evidence.kind == Wants::reading || shortest(*evidence.number) == evidence.value))
        return *evidence.number;
    return evidence.value.empty() ? Json(evidence.text) : Json(evidence.value);
}

Json evidence_json(Evidence const& evidence) {
    Json out{{"entry", evidence.entry},
             {"value", value_json(evidence)},
             {"kind", std::string(name(evidence.kind))},
             {"standing", std::string(name(evidence.standing))},
             {"by", evidence.by},
             {"at", evidence.at},
             {"recorded", evidence.recorded}};
    if (!evidence.unit.empty()) out["unit"] = evidence.unit;
    if (evidence.u) out["u"] = *evidence.u;
    if (!evidence.with.empty()) out["with"] = evidence.with;
    if (!evidence.stream.empty()) out["stream"] = evidence.stream;
    if (!evidence.sha256.empty()) out["sha256"] = evidence.sha256;
    if (!evidence.text.empty()) out["note"] = evidence.text;
    if (evidence.in_words) out["in_words"] = true;
    if (evidence.outside) out["outside"] = true;
    if (evidence.late) out["late"] = true;
    if (!evidence.marks.empty()) out["marks"] = evidence.marks;
    return out;
}

Json step_json(StepView const& view) {
    auto const& step = *view.step;
    Json evidence = Json::array();
    for (auto const& item : view.evidence) evidence.push_back(evidence_json(item));
    Json out{{"name", step.name},
             {"class", std::string(name(step.step_class))},
             {"state", std::string(name(view.state))},
             {"what", step.what},
             {"why", step.why},
             {"caution", or_null(step.caution)},
             {"wants", std::string(name(step.wants))},
             {"minutes", step.minutes},
             {"after", step.after},
             {"waits_for", view.waits_for},
             {"evidence", std::move(evidence)}};
    if (!step.unit.empty()) out["unit"] = step.unit;
    if (step.low || step.high) {
        out["low"] = or_null(step.low);
        out["high"] = or_null(step.high);
        out["limit_source"] = step.limit_source;
    }
    if (!step.gas.empty()) out["gas"] = step.gas;
    if (!step.basis.empty()) out["basis"] = step.basis;
    if (!step.role.empty()) out["role"] = step.role;
    if (!step.feeds.empty()) out["feeds"] = step.feeds;
    if (!step.who.empty()) out["who"] = step.who;
    if (!step.second_person_of.empty()) out["second_person_of"] = step.second_person_of;
    if (!step.source.empty()) out["source"] = step.source;
    if (view.state != StepState::done && !view.reason.empty()) {
        out["reason"] = view.reason;
        out["by"] = or_null(view.by);
    }
    if (!view.second.empty()) {
        out["second"] = view.second;
        out["permit"] = view.permit;
    }
    return out;
}

Json stage_json(StageView const& view) {
    Json steps = Json::array();
    for (auto const& step : view.steps) steps.push_back(step_json(step));
    Json out{{"name", view.stage->name},
             {"title", view.stage->title},
             {"state", std::string(name(view.state()))},
             {"establishes", view.stage->establishes}};
    if (view.way_back) out["way_back"] = true;
    out["steps"] = std::move(steps);
    return out;
}

std::string marked(StepState state) {
    switch (state) {
        case StepState::open:
            return "[ ]";
        case StepState::done:
            return "[x]";
        case StepState::overridden:
        case StepState::passed:
            return "[!]";
        case StepState::not_done:
        case StepState::not_obtainable:
            return "[-]";
        case StepState::not_applicable:
            return "[/]";
    }
    return "[ ]";
}

std::string evidence_text(Evidence const& evidence) {
    auto out = fmt::format("        entry {}: {}",
                           evidence.entry,
                           !evidence.file.empty()   ? evidence.file
                           : evidence.value.empty() ? evidence.text
                                                    : evidence.value);
    if (!evidence.unit.empty() && evidence.kind != Wants::clock) out += " " + evidence.unit;
    if (evidence.kind == Wants::clock && evidence.number)
        out += fmt::format(" ({} s off)", shortest(*evidence.number));
    if (evidence.u) out += fmt::format(", u {}", shortest(*evidence.u));
    if (!evidence.with.empty()) out += ", with " + evidence.with;
    out += fmt::format(", {}, {}", evidence.by, evidence.at);
    if (evidence.standing != Standing::current)
        out += fmt::format(" ({})", name(evidence.standing));
    for (auto const& mark : evidence.marks) out += "; " + mark;
    return out + "\n";
}

std::string now_text(VisitState const& visit) {
    auto const* now = visit.now();
    if (visit.ended()) return fmt::format("The visit has ended as {}.\n", visit.state);
    if (visit.state == "interrupted")
        return fmt::format("Interrupted: {}\nGo on with:  gaswright visit resume {}\n",
                           visit.interrupted_because,
                           visit.visit);
    if (now == nullptr) return "Nothing is open that could be done now.\n";
    auto const& step = *now->step;
    std::string out = fmt::format("NOW   {}: {}\n      {}\n      Why: {}\n",
                                  visit.plan->stage_of(step.name)->name,
                                  step.name,
                                  step.what,
                                  step.why);
    if (!step.caution.empty()) out += fmt::format("      CAUTION: {}\n", step.caution);
    if (step.low || step.high)
        out += fmt::format("      Limit: {}{}{} {} ({})\n",
                           step.low ? "at least " + shortest(*step.low) : "",
                           step.low && step.high ? ", " : "",
                           step.high ? "at most " + shortest(*step.high) : "",
                           step.unit,
                           step.limit_source);
    std::string const what =
        step.wants == Wants::run       ? "--run FILE"
        : step.wants == Wants::file    ? "--file FILE"
        : step.wants == Wants::reading ? fmt::format("--value NUMBER --unit \"{}\"", step.unit)
        : step.wants == Wants::clock   ? std::string("--value SHOWN --at TRUSTED")
                                       : std::string("--value TEXT");
    return out + fmt::format(
                     "      Record it with:  gaswright visit add {} --stage \"{}\" --step \"{}\" "
                     "{} --by WHO\n",
                     visit.visit,
                     visit.plan->stage_of(step.name)->name,
                     step.name,
                     what);
}

}  // namespace

std::optional<double> permit_minutes_left(VisitState const& visit, Instant now) {
    if (visit.permit_end.empty()) return std::nullopt;
    auto const end = parse_instant(visit.permit_end, "permit end");
    if (!end) return std::nullopt;
    return static_cast<double>(end->milliseconds - now.milliseconds) / 60000;
}

Json visit_json(VisitShown const& shown) {
    auto const& visit = shown.state;
    Json stages = Json::array(), findings = Json::array(), lines = Json::array(),
         clocks = Json::array(), notes = Json::array(), ways = Json::array();
    for (auto const& stage : visit.stages) stages.push_back(stage_json(stage));
    for (auto const& finding : shown.findings) findings.push_back(metrology::finding_json(finding));
    for (auto const& line : shown.ledger.lines)
        lines.push_back(Json{{"what", line.what},
                             {"why", line.why},
                             {"work", line.work},
                             {"conformity", line.conformity}});
    for (auto const& clock : visit.clocks)
        clocks.push_back(Json{{"clock", clock.clock}, {"offset_s", clock.offset_s}});
    Json signatures = Json::array();
    for (auto const& signature : shown.signatures) signatures.push_back(signature_json(signature));
    for (auto const& note : visit.notes) notes.push_back(evidence_json(note));
    for (auto const& [way, reason] : visit.ways_taken)
        ways.push_back(Json{{"to", way}, {"reason", reason}});
    auto const left = permit_minutes_left(visit, shown.now);
    auto const needed = visit.minutes_needed();
    auto const* now = visit.now();
    Json out{{"visit", visit.visit},
             {"plan", visit.plan->name},
             {"plan_sha256", visit.plan->hash},
             {"title", visit.plan->title},
             {"analyser", visit.analyser},
             {"site", or_null(visit.site)},
             {"opened", visit.opened},
             {"state", visit.state},
             {"cautions", visit.plan->cautions},
             {"now",
              now == nullptr ? Json(nullptr)
                             : Json{{"stage", visit.plan->stage_of(now->step->name)->name},
                                    {"step", now->step->name}}},
             {"stages", std::move(stages)},
             {"findings", std::move(findings)},
             {"ledger", std::move(lines)},
             {"may_sign",
              Json{{"work", shown.ledger.may_sign_work},
                   {"conformity", shown.ledger.may_sign_conformity}}},
             {"signatures", std::move(signatures)},
             {"minutes",
              Json{{"needed", needed},
                   {"permit_left", or_null(left)},
                   {"fits", left ? Json(*left >= needed) : Json(nullptr)}}},
             {"permit_end", or_null(visit.permit_end)},
             {"clocks", std::move(clocks)},
             {"ways_back", std::move(ways)},
             {"notes", std::move(notes)},
             {"undone", visit.undone},
             {"last_entry", visit.last},
             {"warnings", shown.warnings}};
    if (visit.ended())
        out["end"] = Json{{"as", visit.state},
                          {"at", visit.end_at},
                          {"reason", or_null(visit.end_reason)},
                          {"until", or_null(visit.until)},
                          {"owner", or_null(visit.owner)}};
    return out;
}

std::string visit_text(VisitShown const& shown) {
    auto const& visit = shown.state;
    auto out = fmt::format("Visit {}: {} of {}{}, {}\n\n",
                           visit.visit,
                           lowered(visit.plan->title),
                           visit.analyser,
                           visit.site.empty() ? "" : " at " + visit.site,
                           visit.state);
    if (!visit.ended()) {
        for (auto const& caution : visit.plan->cautions)
            out += fmt::format("CAUTION  {}\n", caution);
        out += "\n";
    }
    out += now_text(visit);
    auto const needed = visit.minutes_needed();
    if (auto const left = permit_minutes_left(visit, shown.now); left && !visit.ended())
        out += fmt::format("      About {} min are still needed; the permit runs {} min more{}\n",
                           fixed(needed, 0),
                           fixed(*left, 0),
                           *left < needed ? ": it does not reach." : ".");
    else if (!visit.ended())
        out += fmt::format("      About {} min are still needed.\n", fixed(needed, 0));
    for (auto const& stage : visit.stages) {
        std::string state(name(stage.state()));
        std::replace(state.begin(), state.end(), '_', ' ');
        out += fmt::format("\n{} {} ({})\n", marked(stage.state()), stage.stage->name, state);
        for (auto const& step : stage.steps) {
            out += fmt::format("    {} {}{}",
                               marked(step.state),
                               step.step->name,
                               step.step->step_class == StepClass::safety ? " [safety]" : "");
            if (step.state != StepState::done && !step.reason.empty())
                out += fmt::format(": {}", step.reason);
            if (!step.second.empty())
                out += fmt::format("; passed by {}, permit {}", step.second, step.permit);
            if (step.state == StepState::open && !step.waits_for.empty())
                out += fmt::format(" (after {})", joined(step.waits_for, ", "));
            out += "\n";
            for (auto const& evidence : step.evidence) out += evidence_text(evidence);
        }
    }
    if (!shown.findings.empty())
        out +=
            "\nFindings, made anew from the evidence\n" + metrology::findings_table(shown.findings);
    out += "\nWhat stands between you and a signature\n";
    for (auto const& line : shown.ledger.lines)
        if (line.work || line.conformity)
            out += fmt::format("  {}{}  {}: {}\n",
                               line.work ? "W" : " ",
                               line.conformity ? "C" : " ",
                               line.what,
                               line.why);
    out += fmt::format("  W  work complete and left safe: {}\n  C  conformity shown: {}\n",
                       shown.ledger.may_sign_work ? "may be signed" : "not yet",
                       shown.ledger.may_sign_conformity ? "may be signed" : "not yet");
    std::string listed;
    for (auto const& line : shown.ledger.lines)
        if (!line.work && !line.conformity)
            listed += fmt::format("      {}: {}\n", line.what, line.why);
    if (!listed.empty()) out += "To be listed with a signature\n" + listed;
    if (!shown.signatures.empty()) out += "\nSigned\n";
    for (auto const& signature : shown.signatures) out += signature_text(signature);
    return out;
}

}  // namespace gw::visit
