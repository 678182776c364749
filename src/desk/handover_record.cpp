// What was done and by whom: the visit, its settings, its steps, what was passed over, cautions.
#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <set>

#include "base/base.hpp"
#include "base/difference.hpp"
#include "desk/handover_cells.hpp"

namespace gw::desk {

namespace {

using report::Align;
using report::Cell;
using report::Heading;
using report::Paragraph;
using report::Table;

std::string words_of(visit::StepState state) {
    std::string out(visit::name(state));
    std::replace(out.begin(), out.end(), '_', ' ');
    return out;
}

std::string told_or(visit::Evidence const* evidence) {
    return evidence == nullptr
               ? "not recorded"
               : fmt::format(
                     "{} ({}, {})", told(*evidence), evidence->by, short_time(evidence->at));
}

std::string number_words(double value) {
    return fmt::format("{:+.0f} s", value == 0 ? 0.0 : value);
}

}  // namespace

Blocks visit_section(HandoverFacts const& facts) {
    auto const& state = facts.state();
    Blocks out;
    out.emplace_back(Heading{"The visit", 1});
    auto table = pairs();
    auto const row = [&](std::string title, std::string text) {
        table.rows.push_back({{std::move(title), {}, true}, plain(std::move(text))});
    };
    row("Visit", state.visit);
    row("Site, analyser",
        (state.site.empty() ? std::string("site not named") : state.site) + ", " + state.analyser);
    row("Plan",
        fmt::format("{} ({}, version {}, SHA-256 {})",
                    state.plan->title,
                    state.plan->name,
                    state.plan->version,
                    state.plan->hash));
    row("Opened", short_time(state.opened) + (state.title.empty() ? "" : ": " + state.title));
    row("Ended",
        state.ended() ? fmt::format("{}, {}{}",
                                    state.state,
                                    short_time(state.end_at),
                                    state.end_reason.empty() ? "" : ": " + state.end_reason)
                      : "not ended: " + state.state);
    for (auto const& [way, reason] : state.ways_taken)
        row("Turned back", fmt::format("{}: {}", way, reason));
    row("Reason", told_or(facts.of_step("reason")));
    row("Decision", told_or(facts.of_step("decision")));
    row("Module out", told_or(facts.of_step("module out")));
    row("Module in", told_or(facts.of_step("module in")));
    row("Lot of seals", told_or(facts.of_step("ring lot")));
    row("Permit", told_or(facts.of_step("permit")));
    row("Permit ends", told_or(facts.of_step("permit end")));
    std::string clocks;
    for (auto const& clock : state.clocks)
        clocks += fmt::format(
            "{}{} {}", clocks.empty() ? "" : "; ", clock.clock, number_words(clock.offset_s));
    row("Clocks, indicated less trusted time", clocks.empty() ? "not compared" : clocks);
    row("Trusted time",
        "The clock " + visit::clock_words(state) +
            ". Times in this record are those of the device and the people; no "
            "trusted service has stamped them.");
    if (facts.analyser.is_object()) {
        row("Last good proof before",
            facts.analyser.value("last_good_proof", std::string("not known")));
        for (auto const* key : {"made by", "model", "firmware"})
            if (auto const found = facts.analyser.find(key);
                found != facts.analyser.end() && found->is_string())
                row(key, found->get<std::string>());
    }
    std::vector<std::string> others;
    store::VisitFilter filter;
    filter.analyser = state.analyser;
    if (auto const all = facts.store.visits(filter))
        for (auto const& line : *all)
            if (line.visit != state.visit)
                others.push_back(
                    fmt::format("{} ({}, {})", line.visit, line.plan, short_time(line.opened)));
    row("Other visits to it in this record",
        others.empty() ? "none is known here" : joined(others, "; "));
    out.emplace_back(std::move(table));
    std::set<std::string> people;
    facts.each_step([&](auto const&, visit::StepView const& step) {
        for (auto const& evidence : step.evidence) people.insert(evidence.by);
        if (!step.second.empty()) people.insert(step.second);
    });
    for (auto const& signature : facts.shown.signatures)
        if (signature.valid) people.insert(signature.said.signer);
    Table who;
    who.caption = "People";
    who.columns = {{"Name", 1, Align::left},
                   {"Known as", 2, Align::left},
                   {"Competence until", 1, Align::left}};
    for (auto const& person : people) {
        auto const known = facts.known("person:" + person);
        std::vector<std::string> roles;
        if (known.is_object() && known.contains("roles")) {
            if (known["roles"].is_string()) roles.push_back(known["roles"].get<std::string>());
            if (known["roles"].is_array())
                for (auto const& role : known["roles"])
                    if (role.is_string()) roles.push_back(role.get<std::string>());
        }
        who.rows.push_back(
            {plain(person),
             plain(roles.empty() ? "not known here" : joined(roles, ", ")),
             plain(known.is_object() ? known.value("competence_until", std::string("not stated"))
                                     : std::string("not stated"))});
    }
    out.emplace_back(std::move(who));
    Table tools;
    tools.caption = "Instruments";
    tools.if_empty = "No instrument was named.";
    tools.columns = {
        {"Serial", 1, Align::left}, {"What", 2, Align::left}, {"Calibration due", 1, Align::left}};
    std::set<std::string> named;
    facts.each_step([&](auto const&, visit::StepView const& step) {
        for (auto const& evidence : step.evidence)
            if (!evidence.with.empty()) named.insert(evidence.with);
    });
    for (auto const& serial : named) {
        auto const known = facts.known("instrument:" + serial);
        auto const field = [&](char const* key) {
            return known.is_object() ? known.value(key, std::string("not known here"))
                                     : std::string("not known here");
        };
        tools.rows.push_back(
            {plain(serial), plain(field("what")), plain(field("calibration_due"))});
    }
    out.emplace_back(std::move(tools));
    return out;
}

Blocks settings_section(HandoverFacts const& facts) {
    Blocks out;
    out.emplace_back(Heading{"Settings, before and after", 1});
    auto const *before = facts.of_role("settings_before"), *after = facts.of_role("settings_after");
    auto const a = facts.bytes(before), b = facts.bytes(after);
    if (!a || !b) {
        out.emplace_back(
            soft("The settings were not saved both before and after: nothing can be compared."));
        return out;
    }
    auto const changes = line_changes(*a, *b);
    out.emplace_back(
        Paragraph{fmt::format("{} ({}) against {} ({}): {} lines changed. A change that no step "
                              "explains is a question.",
                              before->file,
                              short_time(before->at),
                              after->file,
                              short_time(after->at),
                              changes.size())});
    // A setting that is there before and after stands in one row.
    struct Change {
        std::string name, before, after;
    };
    std::vector<Change> rows;
    auto const split_at = [](std::string const& line) {
        auto const comma = line.find_first_of(",;=\t");
        return comma == std::string::npos
                   ? std::pair(line, std::string())
                   : std::pair(line.substr(0, comma), line.substr(comma + 1));
    };
    for (auto const& change : changes) {
        auto [name, value] = split_at(change.line);
        for (char& c : value)
            if (c == ',' || c == ';' || c == '\t') c = ' ';
        auto const pair = [&, name_of = name](Change const& row) {
            return row.name == name_of && (change.added ? row.after : row.before).empty();
        };
        auto found = std::find_if(rows.begin(), rows.end(), pair);
        if (found == rows.end()) found = rows.insert(rows.end(), Change{name, {}, {}});
        (change.added ? found->after : found->before) = value.empty() ? "there" : value;
    }
    Table table;
    table.columns = {
        {"Setting", 2, Align::left}, {"Before", 2, Align::left}, {"After", 2, Align::left}};
    table.if_empty = "Nothing changed.";
    for (auto const& row : rows)
        table.rows.push_back({plain(row.name),
                              plain(row.before.empty() ? "not there" : row.before),
                              plain(row.after.empty() ? "not there" : row.after)});
    out.emplace_back(std::move(table));
    auto const *found = facts.judged("as_found"), *left = facts.judged("as_left");
    Table valves;
    valves.caption = "Valve times of the methods by which the runs were worked out here, s";
    valves.columns = {
        {"Action", 3, Align::left}, {"As found", 1, Align::right}, {"As left", 1, Align::right}};
    auto const time_of = [](JudgedState const* judged, std::string const& action) {
        if (judged != nullptr && judged->inputs.method)
            for (auto const& event : judged->inputs.method->valve_programme)
                if (event.action == action) return fixed(event.at_s, 2);
        return std::string("-");
    };
    auto const* named = left != nullptr && left->inputs.method ? left : found;
    if (named != nullptr && named->inputs.method)
        for (auto const& event : named->inputs.method->valve_programme)
            valves.rows.push_back({plain(event.action),
                                   plain(time_of(found, event.action)),
                                   plain(time_of(left, event.action))});
    valves.if_empty = "No method was kept.";
    out.emplace_back(soft("The analyser's own times stand in its settings above."));
    out.emplace_back(std::move(valves));
    return out;
}

Blocks exceptions_section(HandoverFacts const& facts) {
    Blocks out;
    out.emplace_back(Heading{"Passed over, not done, corrected, late", 1});
    Table table;
    table.columns = {{"Step", 2, Align::left},
                     {"What it became", 1.2, Align::left},
                     {"Why, and by whom", 4, Align::left}};
    table.if_empty = "Nothing was passed over: every step has its evidence.";
    facts.each_step([&](visit::StageView const& stage, visit::StepView const& step) {
        auto const name = fmt::format("{}: {}", stage.stage->name, step.step->name);
        bool const safety = step.step->step_class == visit::StepClass::safety;
        if (step.state == visit::StepState::open && step.step->step_class != visit::StepClass::note)
            table.rows.push_back(
                {plain(name),
                 {safety ? "open, SAFETY" : "open", {}, safety},
                 plain(step.reason.empty() ? "nothing was recorded" : step.reason)});
        else if (step.state != visit::StepState::done && step.settled()) {
            auto why = fmt::format("{} ({})", step.reason, step.by);
            if (!step.second.empty())
                why += fmt::format("; passed by {} under permit {}, and not shown as done",
                                   step.second,
                                   step.permit);
            table.rows.push_back({plain(name),
                                  {words_of(step.state) + (safety ? ", SAFETY" : ""), {}, safety},
                                  plain(why)});
        }
        for (auto const& evidence : step.evidence) {
            bool const old = evidence.standing == visit::Standing::superseded ||
                             evidence.standing == visit::Standing::withdrawn ||
                             evidence.standing == visit::Standing::expired;
            if (!old && evidence.marks.empty()) continue;
            std::string why =
                fmt::format("{} ({}, {})", told(evidence), evidence.by, short_time(evidence.at));
            for (auto const& mark : evidence.marks) why += "; " + mark;
            table.rows.push_back(
                {plain(name),
                 plain(old ? std::string(visit::name(evidence.standing)) : "noted"),
                 plain(why)});
        }
    });
    out.emplace_back(std::move(table));
    Table ledger;
    ledger.caption = "What stood against a signature, or is listed with one";
    ledger.columns = {
        {"What", 2.4, Align::left}, {"Why", 3.4, Align::left}, {"Against", 1.2, Align::left}};
    ledger.if_empty = "Nothing.";
    for (auto const& line : facts.shown.ledger.lines)
        ledger.rows.push_back({plain(line.what),
                               plain(line.why),
                               plain(line.work && line.conformity ? "both statements"
                                     : line.work                  ? "work left safe"
                                     : line.conformity            ? "conformity"
                                                                  : "listed only")});
    out.emplace_back(std::move(ledger));
    Table notes;
    notes.caption = "Remarks";
    notes.columns = {{"When, who", 1.4, Align::left}, {"Remark", 5, Align::left}};
    facts.each_step([&](visit::StageView const&, visit::StepView const& step) {
        for (auto const& evidence : step.evidence)
            if (evidence.standing == visit::Standing::aside)
                notes.rows.push_back({plain(short_time(evidence.at) + ", " + evidence.by),
                                      plain(step.step->name + ": " + told(evidence))});
    });
    for (auto const& note : facts.state().notes)
        notes.rows.push_back({plain(short_time(note.at) + ", " + note.by), plain(told(note))});
    if (!notes.rows.empty()) out.emplace_back(std::move(notes));
    return out;
}

Blocks steps_section(HandoverFacts const& facts) {
    Blocks out;
    out.emplace_back(Heading{"Every step, with time and person", 1});
    out.emplace_back(Paragraph{
        "SAFETY marks a hold on somebody's safety: it is done only on evidence, and what another "
        "person passed under the permit is told as passed. Times are when it was so."});
    for (auto const& stage : facts.state().stages) {
        Table table;
        table.caption = stage.stage->title + (stage.way_back ? " (a way back)" : "");
        table.columns = {{"Step", 1.7, Align::left},
                         {"State", 0.9, Align::left},
                         {"What was recorded", 3.4, Align::left},
                         {"By", 0.8, Align::left},
                         {"When", 1.3, Align::left}};
        table.type_size = 6.6;
        for (auto const& step : stage.steps) {
            bool const safety = step.step->step_class == visit::StepClass::safety;
            auto const state = words_of(step.state) + (safety ? ", SAFETY" : "");
            std::vector<visit::Evidence const*> standing;
            for (auto const& evidence : step.evidence)
                if (evidence.standing == visit::Standing::current) standing.push_back(&evidence);
            if (standing.empty() || (step.settled() && step.state != visit::StepState::done)) {
                table.rows.push_back({plain(step.step->name),
                                      {state, {}, step.state != visit::StepState::done},
                                      plain(step.settled() ? step.reason : "-"),
                                      plain(step.by),
                                      plain("")});
                if (standing.empty()) continue;
            }
            if (standing.size() > 2 && standing.front()->kind == visit::Wants::run) {
                table.rows.push_back({plain(step.step->name),
                                      plain(state),
                                      plain(fmt::format("{} runs, {} to {}",
                                                        standing.size(),
                                                        standing.front()->file,
                                                        standing.back()->file)),
                                      plain(standing.front()->by),
                                      plain(short_time(standing.front()->at) + " to " +
                                            short_time(standing.back()->at))});
                continue;
            }
            for (auto const* evidence : standing)
                table.rows.push_back({plain(step.step->name),
                                      plain(state),
                                      plain(told(*evidence)),
                                      plain(evidence->by),
                                      plain(short_time(evidence->at))});
        }
        out.emplace_back(std::move(table));
    }
    return out;
}

Blocks cautions_section(HandoverFacts const& facts) {
    Blocks out;
    out.emplace_back(Heading{"Cautions of the plan", 1});
    report::CautionBox box;
    for (auto const& caution : facts.state().plan->cautions) box.lines.push_back(caution);
    std::string const common =
        " Local codes, the permit and the maker's instructions decide; this record does not.";
    std::set<std::string> seen;
    facts.each_step([&](auto const&, visit::StepView const& step) {
        auto text = step.step->caution;
        if (text.ends_with(common)) text.resize(text.size() - common.size());
        if (text.empty() || common.ends_with(text) || !seen.insert(text).second) return;
        box.lines.push_back(step.step->name + ": " + text);
    });
    box.lines.push_back(
        "Beside every step: local codes, the permit and the maker's instructions decide; this "
        "record does not.");
    out.emplace_back(std::move(box));
    return out;
}

}  // namespace gw::desk
