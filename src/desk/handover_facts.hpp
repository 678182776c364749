#pragma once
/// What the sections of a handover are made of: the visit, its findings with what they were made
/// from, and the things it names. Private to desk.
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "desk/visit.hpp"
#include "desk/visit_findings.hpp"
#include "report/document.hpp"
#include "trace/series_table.hpp"
#include "visit/settle.hpp"

namespace gw::desk {

struct HandoverFacts {
    store::Store const& store;
    visit::VisitShown const& shown;
    VisitFindings findings;
    visit::Head head;     ///< of the journal, as this handover was made
    Json analyser, site;  ///< what is known of them; null when nothing is
    std::string notice;   ///< of invented data
    std::string program;

    [[nodiscard]] visit::VisitState const& state() const { return shown.state; }
    /// The evidence that stands for a step, by its name or by its role.
    [[nodiscard]] visit::Evidence const* of_step(std::string_view step) const;
    [[nodiscard]] visit::Evidence const* of_role(std::string_view role,
                                                 std::string_view basis = "") const;
    [[nodiscard]] std::optional<std::string> bytes(visit::Evidence const* evidence) const;
    [[nodiscard]] JudgedState const* judged(std::string const& basis) const;
    [[nodiscard]] metrology::Finding const* finding(std::string_view id,
                                                    std::string_view basis) const;
    [[nodiscard]] Json known(std::string const& subject) const;
    void each_step(
        std::function<void(visit::StageView const&, visit::StepView const&)> const& look) const;
};

Result<HandoverFacts> handover_facts(store::Store const& store,
                                     visit::VisitShown const& shown,
                                     std::string const& program);

/// "2026-05-19 08:20+01:00": minutes are enough for a reader, the data hold the rest.
std::string short_time(std::string const& instant);
/// What was recorded, with unit, uncertainty and instrument: as a reader wants it in one cell.
std::string told(visit::Evidence const& evidence);

// The sections. Each answers its blocks with their heading; what is not there is said in a line.
using Blocks = std::vector<report::Block>;
Blocks visit_section(HandoverFacts const& facts);
Blocks findings_section(HandoverFacts const& facts);
Blocks streams_section(HandoverFacts const& facts);
Blocks traces_section(HandoverFacts const& facts);
Blocks factors_section(HandoverFacts const& facts);
Blocks gases_section(HandoverFacts const& facts);
Blocks settling_section(HandoverFacts const& facts);
Blocks leak_section(HandoverFacts const& facts);
Blocks substitute_section(HandoverFacts const& facts);
Blocks settings_section(HandoverFacts const& facts);
Blocks exceptions_section(HandoverFacts const& facts);
Blocks steps_section(HandoverFacts const& facts);
Blocks limits_section(HandoverFacts const& facts);
Blocks evidence_section(HandoverFacts const& facts);
Blocks cautions_section(HandoverFacts const& facts);
Blocks signatures_section(HandoverFacts const& facts);
Blocks checklist_section(HandoverFacts const& facts);

/// The calibration gas's last run as left and as found, for the first page.
std::vector<report::TraceFigure> leading_traces(HandoverFacts const& facts);
/// One sentence on energy; "" when the analyser's energy or the error is not known.
std::string misstatement_sentence(HandoverFacts const& facts);
/// Every table of constants and limits in this program, by name and checksum.
std::vector<report::Checksum> constant_tables(HandoverFacts const& facts);

}  // namespace gw::desk
