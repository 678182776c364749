#include "visit/visit_acts.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>
#include <set>

#include "base/text.hpp"
#include "visit/register.hpp"
#include "visit/unit.hpp"

namespace gw::visit {

namespace {

NewEntry entry_of(VisitState const& visit, char const* kind, Act const& act, Json body) {
    if (act.at) body["at"] = to_text(*act.at);
    return {act.now, visit.visit, kind, act.who, std::move(body), {}};
}

Result<> require_open(VisitState const& visit, Act const& act) {
    if (!visit.ended()) return {};
    auto const end = parse_instant(visit.end_at, "end");
    if (act.at && end && act.at->milliseconds < end->milliseconds)
        return {};  // late, and shown as late
    return fail(Errc::conflict,
                fmt::format("The visit has ended as {}.", visit.state),
                visit.visit,
                "give evidence of the time before with --at, undo the end, or open a new visit");
}

Result<> require_past(Act const& act) {
    constexpr std::int64_t ahead_ms = 5 * 60000;  // clocks of two devices differ by minutes
    if (!act.at || act.at->milliseconds <= act.now.milliseconds + ahead_ms) return {};
    return fail(
        Errc::bad_input, "This time is still to come.", "--at", "give the time at which it was so");
}

std::string names_of(std::vector<StageView> const& stages) {
    std::vector<std::string> out;
    for (auto const& stage : stages) out.push_back(stage.stage->name);
    return joined(out, ", ");
}

Result<StepView const*> find_step(VisitState const& visit,
                                  std::string const& stage,
                                  std::string const& step) {
    auto const* where = visit.stage(stage);
    if (where == nullptr) {
        for (auto const& way : visit.plan->ways_back)
            if (plain_name(way.name) == plain_name(stage))
                return fail(
                    Errc::not_found,
                    fmt::format("The way back \"{}\" was not taken.", way.name),
                    "--stage",
                    fmt::format(
                        "take it with gaswright visit back {} --to \"{}\"", visit.visit, way.name));
        return fail(Errc::not_found,
                    fmt::format("The visit has no stage \"{}\".", stage.substr(0, 60)),
                    "--stage",
                    "choose " + names_of(visit.stages));
    }
    std::vector<std::string> names;
    for (auto const& view : where->steps) {
        if (plain_name(view.step->name) == plain_name(step)) return &view;
        names.push_back(view.step->name);
    }
    return fail(
        Errc::not_found,
        fmt::format("The stage \"{}\" has no step \"{}\".", where->stage->name, step.substr(0, 60)),
        "--step",
        "choose " + joined(names, ", "));
}

Result<> require_order(VisitState const& visit, StepView const& step) {
    if (step.waits_for.empty()) return {};
    std::vector<std::string> open;
    bool safety = false;
    for (auto const& name : step.waits_for) {
        auto const* before = visit.find(name);
        bool const not_done =
            before->state == StepState::not_done || before->state == StepState::not_obtainable;
        open.push_back(fmt::format("\"{}\"{}", name, not_done ? " (recorded as not done)" : ""));
        safety = safety || before->step->step_class == StepClass::safety;
    }
    return fail(
        Errc::conflict,
        fmt::format(
            "\"{}\" comes after what is still open: {}.", step.step->name, joined(open, ", ")),
        "--step",
        safety ? "give that evidence first, or have a second named person pass it with the "
                 "permit's reference"
               : "give that evidence first, or override it with a reason");
}

Json about_step(VisitState const& visit, StepView const& step) {
    auto const* stage = visit.plan->stage_of(step.step->name);
    return Json{{"stage", stage->name}, {"step", step.step->name}};
}

// "0.5 %LEL" typed as one value.
void split_unit(std::string& value, std::optional<std::string>& unit) {
    auto const blank = value.find(' ');
    if (unit || blank == std::string::npos) return;
    auto const rest = std::string(trimmed(value.substr(blank)));
    if (parse_number(value.substr(0, blank)) && is_known_unit(rest)) {
        unit = rest;
        value.resize(blank);
    }
}

Result<> read_value(Step const& step, AddRequest const& request, Act const& act, Json& body) {
    auto value = *request.value;
    auto unit = request.unit;
    if (trimmed(value).empty())
        return fail(Errc::bad_input, "The value is empty.", "--value", "say what was seen");
    split_unit(value, unit);
    auto const number = parse_number(value);
    body["value"] = value;
    body["kind"] = "words";
    if (number) body["number"] = *number;
    if (request.u) {
        if (!number || !(*request.u >= 0))
            return fail(Errc::bad_input,
                        "An uncertainty belongs to a number and is not negative.",
                        "--u",
                        "correct it");
        body["u"] = *request.u;
    }
    if (unit) body["unit"] = *unit;
    if (step.wants == Wants::time) {
        if (parse_instant(value, "--value")) body["kind"] = "time";
        return {};
    }
    if (step.wants == Wants::clock) {
        // Either the offset, or what the clock shows at the time of --at.
        if (auto const shown = parse_instant(value, "--value")) {
            auto const trusted = act.at ? *act.at : act.now;
            body["number"] = static_cast<double>(shown->milliseconds - trusted.milliseconds) / 1000;
        } else if (number) {
            auto const seconds = converted_difference(*number, unit.value_or("s"), "s");
            if (!seconds)
                return fail(Errc::bad_input,
                            fmt::format("\"{}\" is no unit of time.", *unit),
                            "--unit",
                            "give s, min or h");
            body["number"] = *seconds;
        } else {
            return {};
        }
        body["unit"] = "s";
        body["kind"] = "clock";
        return {};
    }
    if (step.wants != Wants::reading || !number) return {};
    body["kind"] = "reading";
    if (!unit) {
        if (step.step_class == StepClass::safety && (step.low || step.high))
            return fail(Errc::bad_input,
                        "A reading for a safety step needs its unit.",
                        "--unit",
                        fmt::format("give {}", joined(units_like(step.unit), ", ")));
        body["unit"] = step.unit;
        body["unit_assumed"] = true;
    } else if (!converted(*number, *unit, step.unit)) {
        return fail(Errc::bad_input,
                    fmt::format("\"{}\" is no unit for \"{}\".", unit->substr(0, 40), step.name),
                    "--unit",
                    fmt::format("give {}", joined(units_like(step.unit), ", ")));
    }
    return {};
}

Result<std::optional<NewEntry>> settle_without_evidence(VisitState const& visit,
                                                        StepView const& step,
                                                        AddRequest const& request,
                                                        Act const& act) {
    struct Way {
        std::optional<std::string> const& reason;
        StepState state;
        char const* option;
    };
    std::array const ways = {
        Way{request.not_done, StepState::not_done, "--not-done"},
        Way{request.not_obtainable, StepState::not_obtainable, "--not-obtainable"},
        Way{request.not_applicable, StepState::not_applicable, "--not-applicable"},
        Way{request.override_reason, StepState::overridden, "--override"}};
    for (auto const& way : ways) {
        if (!way.reason) continue;
        if (trimmed(*way.reason).empty())
            return fail(Errc::bad_input, "The reason is empty.", way.option, "say why");
        auto state = way.state;
        auto body = about_step(visit, step);
        if (state == StepState::overridden && step.step->step_class == StepClass::safety) {
            bool const another = !trimmed(request.second).empty() &&
                                 lowered(trimmed(request.second)) != lowered(trimmed(act.who));
            if (!another || trimmed(request.permit).empty())
                return fail(Errc::conflict,
                            fmt::format("\"{}\" is a safety step: nobody overrides it alone.",
                                        step.step->name),
                            "--override",
                            "give its evidence, record it with --not-done, or name a second person "
                            "with --second "
                            "and the permit's reference with --permit");
            state = StepState::passed;
            body["second"] = request.second;
            body["permit"] = request.permit;
        }
        // To say that something was not done asks for no order; to pass it does.
        if (state == StepState::overridden || state == StepState::passed)
            GW_CHECK(require_order(visit, step));
        body["how"] = std::string(name(state));
        body["reason"] = *way.reason;
        return std::optional(entry_of(visit, "settled", act, std::move(body)));
    }
    return std::optional<NewEntry>();
}

}  // namespace

NewEntry open_visit(NewVisit const& what,
                    std::string const& visit,
                    std::string const& plan_hash,
                    Act const& act) {
    Json body{{"plan", what.plan}, {"analyser", what.analyser}};
    if (!what.site.empty()) body["site"] = what.site;
    if (!what.title.empty()) body["title"] = what.title;
    if (!what.module.empty()) body["module"] = what.module;
    if (what.judging.is_object() && !what.judging.empty()) body["judging"] = what.judging;
    if (act.at) body["at"] = to_text(*act.at);
    return {act.now, visit, "visit", act.who, std::move(body), {plan_hash}};
}

Result<NewEntry> add(VisitState const& visit, AddRequest const& request, Act const& given) {
    auto act = given;
    if (request.file && request.file->of && !act.at) act.at = request.file->of;
    GW_CHECK(require_past(act));
    GW_TRY(auto const* step, find_step(visit, request.stage, request.step));
    int const contents = (request.value ? 1 : 0) + (request.file ? 1 : 0);
    int const stand_ins = (request.not_done ? 1 : 0) + (request.not_obtainable ? 1 : 0) +
                          (request.not_applicable ? 1 : 0) + (request.override_reason ? 1 : 0);
    if (contents > 1 || stand_ins > 1)
        return fail(
            Errc::bad_input, "Too much at once.", "command line", "record one thing at a time");
    if (contents == 0 && stand_ins == 0 && !request.note)
        return fail(Errc::bad_input,
                    "There is nothing to record.",
                    "command line",
                    "give --value, --run, --file, --note, --not-done, --not-obtainable, "
                    "--not-applicable or --override");
    if (request.aside && (!request.file || request.value || stand_ins > 0))
        return fail(Errc::bad_input,
                    "Only a file is kept beside a step.",
                    "command line",
                    "give a file alone");
    // A remark is always taken: it settles nothing.
    if (request.aside) {
        auto body = about_step(visit, *step);
        body["kind"] = "file";
        body["file"] = request.file->name;
        if (request.note) body["text"] = *request.note;
        auto out = entry_of(visit, "note", act, std::move(body));
        out.evidence.push_back(request.file->sha256);
        return out;
    }
    if (contents == 0 && stand_ins == 0) {
        if (trimmed(*request.note).empty())
            return fail(Errc::bad_input, "The note is empty.", "--note", "write it");
        auto body = about_step(visit, *step);
        body["text"] = *request.note;
        return entry_of(visit, "note", act, std::move(body));
    }
    GW_CHECK(require_open(visit, act));
    if (visit.state == "interrupted")
        return fail(Errc::conflict,
                    "The visit is interrupted.",
                    visit.visit,
                    "go on with gaswright visit resume " + visit.visit);
    bool const only_settled = contents == 0;
    if (only_settled) {
        GW_TRY(auto settled, settle_without_evidence(visit, *step, request, act));
        if (settled) return *std::move(settled);
    }
    if (request.not_done || request.not_obtainable || request.not_applicable)
        return fail(Errc::bad_input,
                    "There is evidence, or there is none.",
                    "command line",
                    "give one of the two");
    if (request.override_reason && step->step->step_class == StepClass::safety)
        return fail(
            Errc::conflict,
            fmt::format("\"{}\" is a safety step: a reading outside its limit is not overridden.",
                        step->step->name),
            "--override",
            "record the reading alone, then what a second named person decided");
    GW_CHECK(require_order(visit, *step));
    auto body = about_step(visit, *step);
    if (request.value) GW_CHECK(read_value(*step->step, request, act, body));
    std::vector<std::string> evidence;
    if (request.file) {
        body["kind"] = request.file->is_run ? "run" : "file";
        if (auto const& reading = request.file->reading) {
            AddRequest worked_out;
            worked_out.value = shortest(reading->number);
            worked_out.unit = reading->unit;
            worked_out.u = reading->u;
            GW_CHECK(read_value(*step->step, worked_out, act, body));
        }
        body["file"] = request.file->name;
        evidence.push_back(request.file->sha256);
        if (!request.file->stream.empty()) body["stream"] = request.file->stream;
    }
    if (!request.stream.empty()) body["stream"] = request.stream;
    if (!request.with.empty()) body["with"] = request.with;
    if (request.note) body["text"] = *request.note;
    if (request.override_reason) body["override"] = *request.override_reason;
    auto out = entry_of(visit, "evidence", act, std::move(body));
    out.evidence = std::move(evidence);
    return out;
}

Result<NewEntry> undo(VisitState const& visit,
                      std::vector<Entry> const& entries,
                      std::optional<std::int64_t> which,
                      std::string const& reason,
                      Act const& act) {
    auto const out_of_force = withdrawn(entries);
    auto const in_force = [&](Entry const& entry) {
        return entry.kind != "visit" && !out_of_force.contains(entry.sequence);
    };
    if (!which) {
        // The last thing that was done, not the last undoing: to bring that back it must be named;
        // and so must a signature, which nobody withdraws by the way.
        for (auto entry = entries.rbegin(); entry != entries.rend(); ++entry)
            if (in_force(*entry) && entry->kind != "undo" && entry->kind != "signature" &&
                entry->kind != "imported") {
                which = entry->sequence;
                break;
            }
        if (!which)
            return fail(Errc::conflict,
                        "There is nothing to undo.",
                        visit.visit,
                        "look with gaswright visit show");
    }
    auto const target = std::find_if(entries.begin(), entries.end(), [&](Entry const& entry) {
        return entry.sequence == *which;
    });
    if (target == entries.end())
        return fail(Errc::not_found,
                    fmt::format("Entry {} is none of this visit.", *which),
                    "--entry",
                    "take a number that gaswright visit show prints");
    if (!in_force(*target))
        return fail(Errc::conflict,
                    fmt::format("Entry {} {}.",
                                *which,
                                target->kind == "visit" ? "opened the visit" : "is undone already"),
                    "--entry",
                    target->kind == "visit" ? "end the visit instead" : "name another one");
    Json body{{"entry", *which}};
    if (!reason.empty()) body["reason"] = reason;
    return entry_of(visit, "undo", act, std::move(body));
}

Result<NewEntry> interrupt(VisitState const& visit, std::string const& reason, Act const& act) {
    GW_CHECK(require_past(act));
    if (visit.state != "open")
        return fail(Errc::conflict,
                    fmt::format("The visit is {} already.", visit.state),
                    visit.visit,
                    "look with gaswright visit show");
    if (trimmed(reason).empty())
        return fail(
            Errc::bad_input, "The reason is empty.", "--reason", "say why, and how it is left");
    return entry_of(visit, "interrupted", act, Json{{"reason", reason}});
}

Result<NewEntry> resume(VisitState const& visit, Act const& act) {
    GW_CHECK(require_past(act));
    if (visit.state != "interrupted")
        return fail(Errc::conflict,
                    "The visit is not interrupted.",
                    visit.visit,
                    "look with gaswright visit show");
    return entry_of(visit, "resumed", act, Json::object());
}

namespace {

Result<> put_until(Json& body, std::string const& until, std::string const& owner) {
    if (!until.empty()) {
        GW_TRY([[maybe_unused]] auto const day, parse_date(until, "--until"));
        body["until"] = until;
    }
    if (!owner.empty()) body["owner"] = owner;
    return {};
}

}  // namespace

Result<NewEntry> take_way_back(VisitState const& visit,
                               WayBackRequest const& request,
                               Act const& act) {
    GW_CHECK(require_past(act));
    GW_CHECK(require_open(visit, act));
    std::vector<std::string> names;
    for (auto const& way : visit.plan->ways_back) {
        names.push_back(way.name);
        if (plain_name(way.name) != plain_name(request.to)) continue;
        if (trimmed(request.reason).empty())
            return fail(Errc::bad_input, "The reason is empty.", "--reason", "say why");
        bool const fallback = plain_name(way.name).find("fallback") != std::string::npos;
        if (fallback && (request.until.empty() || request.owner.empty()))
            return fail(Errc::bad_input,
                        "A fallback needs its last day and somebody who owns it.",
                        request.until.empty() ? "--until" : "--owner",
                        "give --until DATE and --owner WHO");
        Json body{{"to", way.name}, {"reason", request.reason}};
        GW_CHECK(put_until(body, request.until, request.owner));
        return entry_of(visit, "way_back", act, std::move(body));
    }
    return fail(Errc::not_found,
                fmt::format("The plan has no way back \"{}\".", request.to.substr(0, 60)),
                "--to",
                "choose " + joined(names, ", "));
}

Result<NewEntry> end(VisitState const& visit, EndRequest const& request, Act const& act) {
    GW_CHECK(require_past(act));
    if (visit.ended())
        return fail(Errc::conflict,
                    fmt::format("The visit has ended as {}.", visit.state),
                    visit.visit,
                    "undo the end to change it");
    std::string const as =
        request.as == "fallback" || request.as == "on_fallback" ? "on-fallback" : request.as;
    constexpr std::array endings = {"completed", "on-fallback", "abandoned"};
    if (std::find(endings.begin(), endings.end(), as) == endings.end())
        return fail(Errc::bad_input,
                    fmt::format("A visit does not end as \"{}\".", request.as.substr(0, 40)),
                    "--as",
                    "choose completed, on-fallback or abandoned");
    Json body{{"as", as}};
    if (!request.reason.empty()) body["reason"] = request.reason;
    GW_CHECK(put_until(body,
                       request.until.empty() && as == "on-fallback" ? visit.until : request.until,
                       request.owner.empty() && as == "on-fallback" ? visit.owner : request.owner));
    return entry_of(visit, "end", act, std::move(body));
}

}  // namespace gw::visit
