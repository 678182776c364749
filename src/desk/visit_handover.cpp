#include "desk/visit_handover.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "base/base.hpp"
#include "desk/handover_facts.hpp"

namespace gw::desk {

namespace {

// The findings of the first page: those of the proof and of the work; amounts of single components
// only where they stand out. All are in their section.
std::vector<metrology::Finding> leading(HandoverFacts const& facts, bool found) {
    std::vector<metrology::Finding> out;
    for (auto const& finding : facts.findings.findings) {
        if ((finding.basis == "as_found") != found) continue;
        out.push_back(finding);
    }
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
