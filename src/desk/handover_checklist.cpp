#include "desk/handover_checklist.hpp"

#include <algorithm>
#include <map>
#include <nlohmann/json.hpp>

#include "auditor_checklist_files.hpp"
#include "base/base.hpp"

namespace gw::desk {

namespace {

struct Answer {
    bool answered = false;
    std::string where;
};
Answer shown(std::string section) { return {true, std::move(section)}; }
Answer shown_if(bool there, std::string section, std::string missing) {
    return there ? shown(std::move(section)) : Answer{false, std::move(missing)};
}

using Question = Answer (*)(HandoverFacts const&);

bool has(HandoverFacts const& f, char const* step) { return f.of_step(step) != nullptr; }

bool has_runs(HandoverFacts const& f, char const* basis, char const* gas) {
    auto const* state = f.judged(basis);
    return state != nullptr && std::any_of(state->proof.runs.begin(),
                                           state->proof.runs.end(),
                                           [&](auto const& line) { return line.gas == gas; });
}

bool has_total(HandoverFacts const& f) {
    return std::any_of(f.findings.findings.begin(), f.findings.findings.end(), [](auto const& x) {
        return x.id == "unnormalised_total" && x.value;
    });
}

bool has_areas(HandoverFacts const& f) {
    auto const* state = f.judged("as_left");
    return state != nullptr && !state->inputs.calibration_gas.empty() &&
           state->inputs.calibration_gas.back().areas;
}

// Is the step settled in any honest way, and is that told?
bool told_of(HandoverFacts const& f, char const* step) {
    auto const* view = f.state().find(step);
    return view != nullptr && view->settled();
}

std::map<std::string, Question, std::less<>> const& questions() {
    static std::map<std::string, Question, std::less<>> const all = {
        {"site and stream",
         [](HandoverFacts const& f) {
             return shown_if(!f.state().analyser.empty() && !f.state().site.empty(),
                             "The visit",
                             "the site was not named");
         }},
        {"modules out and in",
         [](HandoverFacts const& f) {
             return shown_if(has(f, "module out") && has(f, "module in") && has(f, "ring lot"),
                             "The visit",
                             "serials out and in, or the lot of the seals, were not recorded");
         }},
        {"who and when",
         [](HandoverFacts const&) { return shown("Every step, with time and person"); }},
        {"clocks",
         [](HandoverFacts const& f) {
             return shown_if(!f.state().clocks.empty(), "The visit", "no clock was compared");
         }},
        {"reason",
         [](HandoverFacts const& f) {
             return shown_if(has(f, "reason"), "The visit", "no reason was recorded");
         }},
        {"as found before adjusting",
         [](HandoverFacts const& f) {
             auto const* bias = f.finding("cv_bias", "as_found");
             return shown_if(bias != nullptr && bias->value,
                             "Findings, as found and as left",
                             "no certified gas was run before the analyser was touched");
         }},
        {"components",
         [](HandoverFacts const& f) {
             return shown_if(has_runs(f, "as_found", "line") || has_runs(f, "as_left", "line"),
                             "Line gas, stream by stream",
                             "no run on line gas was handed in");
         }},
        {"response factors",
         [](HandoverFacts const& f) {
             auto const* state = f.judged("as_left");
             return shown_if(state != nullptr && state->inputs.calibration,
                             "Response factors and their pattern",
                             "no calibration was handed in or could be worked out");
         }},
        {"peak areas",
         [](HandoverFacts const& f) {
             return shown_if(has_areas(f),
                             "Response factors and their pattern",
                             "no run with areas was handed in");
         }},
        {"amounts read",
         [](HandoverFacts const& f) {
             return shown_if(
                 has_runs(f, "as_found", "proving") || has_runs(f, "as_left", "proving"),
                 "Gases and certificates",
                 "the proving gas was not run");
         }},
        {"amounts certified",
         [](HandoverFacts const& f) {
             return shown_if(f.of_role("proving_cylinder") != nullptr ||
                                 f.of_role("calibration_cylinder") != nullptr,
                             "Gases and certificates",
                             "no certificate was handed in");
         }},
        {"difference",
         [](HandoverFacts const& f) {
             return shown_if(
                 has_runs(f, "as_left", "proving") && f.of_role("proving_cylinder") != nullptr,
                 "Gases and certificates",
                 "there is no proving gas to compare with");
         }},
        {"unnormalised total",
         [](HandoverFacts const& f) {
             return shown_if(has_total(f),
                             "Findings, as found and as left",
                             "the runs state no sum before normalising");
         }},
        {"normalised and not",
         [](HandoverFacts const& f) {
             return shown_if(has_runs(f, "as_left", "line") && has_total(f),
                             "Line gas, stream by stream",
                             "no run on line gas as left was handed in");
         }},
        {"ideal and real value",
         [](HandoverFacts const& f) {
             return shown_if(has_runs(f, "as_left", "line"),
                             "Line gas, stream by stream",
                             "no run on line gas as left was handed in");
         }},
        {"heavy end split",
         [](HandoverFacts const& f) {
             return shown_if(has_runs(f, "as_left", "line"),
                             "Line gas, stream by stream",
                             "no run on line gas as left was handed in");
         }},
        {"last verification",
         [](HandoverFacts const& f) {
             return shown_if(f.analyser.is_object() && f.analyser.contains("last_good_proof"),
                             "The visit",
                             "nothing is known of an earlier proof of this analyser");
         }},
        {"work since then", [](HandoverFacts const&) { return shown("The visit"); }},
        {"valve times",
         [](HandoverFacts const& f) {
             auto const* state = f.judged("as_left");
             return shown_if(state != nullptr && state->inputs.method &&
                                 !state->inputs.method->valve_programme.empty(),
                             "Settings, before and after",
                             "no method with valve times was kept");
         }},
        {"certificates",
         [](HandoverFacts const& f) {
             return shown_if(f.of_role("calibration_cylinder") != nullptr,
                             "Gases and certificates",
                             "no certificate was handed in");
         }},
        {"settings difference",
         [](HandoverFacts const& f) {
             return shown_if(
                 f.of_role("settings_before") != nullptr && f.of_role("settings_after") != nullptr,
                 "Settings, before and after",
                 "the settings were not saved both before and after");
         }},
        {"leak test",
         [](HandoverFacts const& f) {
             auto const* test = f.of_role("leak_test");
             return shown_if(test != nullptr && !test->sha256.empty(),
                             "Leak test",
                             test == nullptr ? "no leak test was recorded"
                                             : "the rate was recorded without its readings");
         }},
        {"traces",
         [](HandoverFacts const& f) {
             return shown_if(!leading_traces(f).empty(),
                             "Traces, as found beside as left",
                             "no trace was handed in");
         }},
        {"as left",
         [](HandoverFacts const& f) {
             auto const* bias = f.finding("cv_bias", "as_left");
             return shown_if(bias != nullptr && bias->value,
                             "Findings, as found and as left",
                             "no gas independent of the calibration was run as left");
         }},
        {"settling",
         [](HandoverFacts const& f) {
             return shown_if(f.of_role("settling_series") != nullptr,
                             "Settling",
                             "no series of the warm-up was handed in");
         }},
        {"substitute period",
         [](HandoverFacts const& f) {
             return shown_if(has(f, "fallback in force") && has(f, "fallback off"),
                             "Substitute period and misstatement",
                             "when substitute values came and went was not recorded");
         }},
        {"hazard file",
         [](HandoverFacts const& f) {
             return shown_if(told_of(f, "permit") && told_of(f, "gas test") &&
                                 told_of(f, "proved dead") && told_of(f, "enclosure closed"),
                             "Every step, with time and person",
                             "permit, gas test, isolation or closing were not recorded");
         }},
        {"passed over",
         [](HandoverFacts const&) { return shown("Passed over, not done, corrected, late"); }},
        {"limits of that day",
         [](HandoverFacts const&) { return shown("Limits as they were that day"); }},
        {"integrity", [](HandoverFacts const&) { return shown("Evidence and integrity"); }},
        {"signatures",
         [](HandoverFacts const& f) {
             bool const any = std::any_of(f.shown.signatures.begin(),
                                          f.shown.signatures.end(),
                                          [](auto const& s) { return s.valid && !s.withdrawn; });
             return shown_if(any, "Signatures", "nobody had signed when this was made");
         }},
    };
    return all;
}

}  // namespace

Result<std::vector<ChecklistLine>> auditor_checklist(HandoverFacts const& facts) {
    GW_TRY(auto const document,
           parse_json(std::string(generated::auditor_checklist_files.front().text),
                      "auditor_checklist.json"));
    GW_TRY(auto const list, document.root().at("items"));
    GW_TRY(auto const items, list.items());
    std::vector<ChecklistLine> out;
    for (auto const& item : items) {
        ChecklistLine line;
        GW_TRY(line.id, item.text("id"));
        GW_TRY(line.asks, item.text("asks"));
        GW_TRY(line.source, item.text("source"));
        auto const question = questions().find(line.id);
        if (question == questions().end())
            return item.wrong("This program cannot look for that.", "take the item away");
        auto const answer = question->second(facts);
        line.answered = answer.answered;
        line.where = answer.where;
        out.push_back(std::move(line));
    }
    return out;
}

}  // namespace gw::desk
