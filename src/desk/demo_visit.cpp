#include "desk/demo_visit.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "base/base.hpp"
#include "desk/demo_timeline.hpp"
#include "desk/run_drawing.hpp"
#include "metrology/criteria.hpp"
#include "visit/run_findings.hpp"

namespace gw::desk {

namespace {

using metrology::Finding;
using metrology::Verdict;

std::string gas_title(DemoRun const& run) {
    return run.gas == "line"      ? "Line gas, stream " + run.stream
           : run.gas == "proving" ? std::string("Proving gas")
                                  : std::string("Calibration gas");
}

// What both the list of runs and the detail of one say of it.
Json run_head(DemoRun const& run, DemoScenario const& s) {
    return Json{{"id", run.id},
                {"title", fmt::format("{}, run {}", gas_title(run), run.number)},
                {"at", to_text(run.at)},
                {"gas", run.gas},
                {"stream", run.stream.empty() ? Json(nullptr) : Json(run.stream)},
                {"basis", run.module == "old" ? "as_found" : "as_left"},
                {"module", s.modules.at(run.module).serial}};
}

Json run_detail(DemoRun const& run, DemoScenario const& s) {
    auto out = run_head(run, s);
    out.update(drawn_run(s.run(run.module, run.scenario_gas, run.number), s.method));
    return out;
}

struct RunOfProof {
    visit::ValuedRun const* run = nullptr;
    Finding const* finding = nullptr;
};

// The number-th run of the proof on that gas and stream.
RunOfProof run_of(visit::Proof const& proof,
                  std::vector<Finding> const& findings,
                  DemoRun const& wanted) {
    std::size_t seen = 0;
    for (std::size_t i = 0; i < proof.runs.size(); ++i)
        if (proof.runs[i].gas == wanted.gas && proof.runs[i].stream == wanted.stream &&
            ++seen == wanted.number)
            return {&proof.runs[i].run, &findings[i]};
    return {};
}

Finding const* same_question(std::vector<Finding> const& findings, Finding const& asked) {
    for (auto const& f : findings)
        if (f.id == asked.id && f.stream == asked.stream && f.gas == asked.gas) return &f;
    return nullptr;
}

// Each question once, with both answers, in the order of the proof.
Json compared(std::vector<Finding> const& found, std::vector<Finding> const& left) {
    Json out = Json::array();
    auto const row = [&](Finding const& asked, Finding const* before, Finding const* after) {
        out.push_back(
            Json{{"id", asked.id},
                 {"title", asked.title},
                 {"as_found", before == nullptr ? Json(nullptr) : metrology::finding_json(*before)},
                 {"as_left", after == nullptr ? Json(nullptr) : metrology::finding_json(*after)}});
    };
    for (auto const& f : found) row(f, &f, same_question(left, f));
    for (auto const& f : left)
        if (same_question(found, f) == nullptr) row(f, nullptr, &f);
    return out;
}

int urgency(Verdict verdict) {
    switch (verdict) {
        case Verdict::fails:
            return 0;
        case Verdict::missing:
            return 1;
        case Verdict::not_yet:
            return 2;
        case Verdict::unclear:
            return 3;
        case Verdict::meets:
            return 4;
        case Verdict::no_limit:
        case Verdict::not_applicable:
            return 5;
    }
    return 5;
}

Json statement(char const* id, char const* title, bool may_sign, std::string const& why) {
    return Json{{"id", id}, {"title", title}, {"may_sign", may_sign}, {"why", why}};
}

Json ledger(visit::Proof const& proof) {
    std::vector<Finding> required;
    for (auto const& f : proof.findings)
        if (f.required) required.push_back(f);
    std::stable_sort(required.begin(), required.end(), [](auto const& a, auto const& b) {
        return urgency(a.verdict) < urgency(b.verdict);
    });
    Json rows = Json::array();
    std::size_t open = 0;
    for (auto const& f : required) {
        rows.push_back(metrology::finding_json(f));
        if (urgency(f.verdict) < urgency(Verdict::meets)) ++open;
    }
    bool const shown = proof.verdict == Verdict::meets;
    return Json{
        {"verdict", std::string(metrology::name(proof.verdict))},
        {"open", open},
        {"findings", std::move(rows)},
        {"statements",
         Json::array({statement("conformity",
                                "Conformity shown",
                                shown,
                                shown ? "on an independent proving gas, within every required limit"
                                      : "a required finding is still open"),
                      statement("work",
                                "Work complete and left safe",
                                false,
                                "rests on the record of isolation, leaks and seals, which this "
                                "demonstration does not hold")})}};
}

Json suspects_json(visit::Look const& look) {
    Json out = Json::array();
    for (auto const& s : look.suspects)
        out.push_back(
            Json{{"id", s.id}, {"title", s.title}, {"because", s.because}, {"confirm", s.confirm}});
    return out;
}

Json stages_json(DemoTimeline const& timeline) {
    Json out = Json::array();
    for (auto const& stage : timeline.stages)
        out.push_back(Json{{"name", stage.name},
                           {"from", to_text(stage.from)},
                           {"to", to_text(stage.to)},
                           {"shown_by", stage.shown_by},
                           {"says", stage.says}});
    return out;
}

// Visit without its runs.
Json outline(DemoScenario const& s, DemoTimeline const& timeline) {
    return Json{{"notice", s.notice},
                {"site", s.site},
                {"analyser", s.analyser},
                {"plan", timeline.plan},
                {"date", to_text(s.date)},
                {"from", to_text(timeline.stages.front().from)},
                {"to", to_text(timeline.stages.back().to)},
                {"stages", stages_json(timeline)}};
}

}  // namespace

Result<Json> demo_outline() {
    GW_TRY(auto const scenario, demo_scenario());
    GW_TRY(auto const timeline, demo_timeline(scenario));
    auto out = outline(scenario, timeline);
    Json runs = Json::array();
    for (auto const& run : timeline.runs) runs.push_back(run_head(run, scenario));
    out["runs"] = std::move(runs);
    return out;
}

Result<DemoVisit> demo_visit() {
    GW_TRY(auto const story, demo());
    auto const scenario = std::make_shared<DemoScenario const>(story.scenario);
    auto const& s = *scenario;
    GW_TRY(auto const timeline, demo_timeline(s));
    GW_TRY(auto const criteria, metrology::shipped_criteria("custody"));
    auto const found = visit::run_findings(story.as_found, criteria),
               left = visit::run_findings(story.as_left, criteria);

    DemoVisit out;
    Json runs = Json::array();
    for (auto const& run : timeline.runs) {
        bool const old = run.module == "old";
        auto const judged = run_of(old ? story.as_found : story.as_left, old ? found : left, run);
        if (judged.run == nullptr)
            return fail(
                Errc::conflict,
                fmt::format("The timeline names a run ({}) that the proof has not.", run.id),
                "timeline.json");
        auto line = run_head(run, s);
        line["cv"] = Json{{"value", judged.run->cv}, {"unit", "MJ/m3"}};
        line["unnormalised_total"] =
            Json{{"value", judged.run->total ? Json(100 * *judged.run->total) : Json(nullptr)},
                 {"unit", "mol%"}};
        line["verdict"] = std::string(metrology::name(judged.finding->verdict));
        line["finding"] = metrology::finding_json(*judged.finding);
        runs.push_back(std::move(line));
        out.runs[run.id] = [run, scenario] { return run_detail(run, *scenario); };
    }
    out.visit = outline(s, timeline);
    out.visit["runs"] = std::move(runs);
    out.visit["findings"] = compared(story.as_found.findings, story.as_left.findings);
    out.visit["suspects"] = suspects_json(story.look);
    out.visit["misstated"] = Json{{"value", story.misstated_mwh_per_day}, {"unit", "MWh/d"}};
    out.visit["ledger"] = ledger(story.as_left);
    return out;
}

}  // namespace gw::desk
