#include "desk/visit_handover.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "base/base.hpp"
#include "desk/handover_facts.hpp"

namespace gw::desk {

namespace {

// The order of the first page: the proof, then the work, then the certificates, then single
// components. What finds no room there is counted, and stands in its section.
int rank(metrology::Finding const& finding) {
    auto const& id = finding.id;
    if (id == "cv_bias") return 0;
    if (id.starts_with("component_") || id.starts_with("factor_shift")) return 4;
    if (id == "leak_rate" || id == "settled" || id == "rings_balance" || id == "compatibility")
        return 2;
    return finding.gas.empty() || id.starts_with("cv_") || id == "unnormalised_total" ? 1 : 3;
}

std::vector<metrology::Finding> leading(HandoverFacts const& facts, bool found) {
    std::vector<metrology::Finding> out;
    for (auto const& finding : facts.findings.findings)
        if ((finding.basis == "as_found") == found) out.push_back(finding);
    std::stable_sort(
        out.begin(), out.end(), [](auto const& a, auto const& b) { return rank(a) < rank(b); });
    return out;
}

std::string occasion(HandoverFacts const& facts) {
    auto const *out = facts.of_step("module out"), *in = facts.of_step("module in");
    std::string text = facts.state().plan->title;
    if (out != nullptr && in != nullptr)
        text += fmt::format(" ({} out, {} in)", out->value, in->value);
    text += fmt::format("; visit {}", facts.state().visit);
    if (!facts.state().ended())
        text += ", not ended";
    else if (facts.state().state != "completed")
        text += ", ended as " + facts.state().state;
    return text;
}

}  // namespace

Result<report::Document> visit_handover(store::Store const& store,
                                        visit::VisitShown const& shown,
                                        std::string const& program) {
    GW_TRY(auto const facts, handover_facts(store, shown, program));
    auto const& state = facts.state();
    report::Document out;
    auto& first = out.first;
    first.site = state.site.empty() ? "Site not named" : state.site;
    first.analyser = state.analyser;
    first.occasion = occasion(facts);
    GW_TRY(auto const at,
           parse_instant(state.end_at.empty() ? state.opened : state.end_at, "visit"));
    first.date = date_of(at);
    first.invented = facts.notice;
    first.as_found = leading(facts, true);
    first.as_left = leading(facts, false);
    first.consequence = misstatement_sentence(facts);
    first.traces = leading_traces(facts);
    // A run says so of itself too: the mark does not get lost with what is known of the analyser.
    for (auto const& figure : first.traces)
        if (auto const mark = figure.trace.header.find("notice");
            first.invented.empty() && mark != figure.trace.header.end() &&
            mark->second == "invented")
            first.invented = "The runs of this visit are marked as invented.";
    first.criteria = facts.findings.criteria.name;
    facts.each_step([&](auto const&, visit::StepView const& step) {
        for (auto const& evidence : step.evidence)
            if (!evidence.sha256.empty())
                first.evidence.push_back({evidence.file, evidence.sha256});
    });
    first.tables = constant_tables(facts);
    first.program = program;
    out.name = fmt::format("{}  {}  visit {}", first.site, first.analyser, state.visit);
    for (auto const& section : {visit_section(facts),
                                signatures_section(facts),
                                findings_section(facts),
                                exceptions_section(facts),
                                streams_section(facts),
                                substitute_section(facts),
                                traces_section(facts),
                                factors_section(facts),
                                gases_section(facts),
                                settling_section(facts),
                                leak_section(facts),
                                settings_section(facts),
                                steps_section(facts),
                                cautions_section(facts),
                                limits_section(facts),
                                evidence_section(facts),
                                checklist_section(facts)})
        out.blocks.insert(out.blocks.end(), section.begin(), section.end());
    return out;
}

}  // namespace gw::desk
