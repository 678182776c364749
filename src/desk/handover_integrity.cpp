// What the record is worth: limits of the day, evidence and its hashes, signatures, and the
// auditor's questions.
#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "base/base.hpp"
#include "constant_tables.hpp"
#include "desk/handover_cells.hpp"
#include "desk/handover_checklist.hpp"

namespace gw::desk {

namespace {

using report::Align;
using report::Heading;
using report::Paragraph;
using report::Table;

}  // namespace

std::vector<report::Checksum> constant_tables(HandoverFacts const&) {
    std::vector<report::Checksum> out;
    for (auto const& table : generated::constant_tables)
        out.push_back({std::string(table.path), sha256(table.text)});
    return out;
}

Blocks limits_section(HandoverFacts const& facts) {
    Blocks out;
    out.emplace_back(Heading{"Limits as they were that day", 1});
    auto const criteria = metrology::criteria_json(facts.findings.criteria);
    auto const* state =
        facts.judged("as_left") != nullptr ? facts.judged("as_left") : facts.judged("as_found");
    out.emplace_back(Paragraph{fmt::format(
        "Criteria set {} ({}), SHA-256 of the limits as read: {}. Guarded: a value meets when its "
        "whole interval, value \u00B1 k u, lies inside the limits, fails when it lies wholly "
        "outside, "
        "and is unclear between (JCGM 106). Simple: the value alone decides.{}",
        facts.findings.criteria.name,
        facts.findings.criteria.title,
        sha256(to_text(criteria)),
        state == nullptr ? "" : " " + gas::title_of(state->inputs.reference) + ".")});
    Table table;
    table.columns = {{"Finding", 2.4, Align::left},
                     {"Limits", 1.4, Align::left},
                     {"Rule", 1, Align::left},
                     {"Needed", 0.8, Align::left},
                     {"Source", 3, Align::left}};
    table.if_empty = "No finding had a limit.";
    struct Limit {
        std::string key, title;
        metrology::Finding const* finding;
    };
    std::vector<Limit> limits;
    for (auto const& finding : facts.findings.findings) {
        auto const colon = finding.id.find(':');
        auto const key = finding.id.substr(0, colon) + metrology::limit_text(finding) +
                         finding.limit_source + (colon == std::string::npos ? finding.title : "");
        auto const found = std::find_if(
            limits.begin(), limits.end(), [&](auto const& limit) { return limit.key == key; });
        if (found == limits.end()) {
            limits.push_back({key, finding.title, &finding});
        } else if (colon != std::string::npos) {
            auto const component = finding.id.substr(colon + 1);
            if (found->title.find(component) == std::string::npos) found->title += ", " + component;
        }
    }
    for (auto const& [key, title, finding] : limits)
        table.rows.push_back(
            {plain(title),
             plain(finding->low || finding->high ? metrology::limit_text(*finding) : "none"),
             plain(!finding->low && !finding->high ? "-"
                   : finding->rule == metrology::Rule::guarded
                       ? fmt::format("guarded, k {:.2f}", finding->k)
                       : std::string("simple")),
             plain(finding->required ? "required" : "told"),
             plain(finding->limit_source.empty() ? "-" : finding->limit_source)});
    out.emplace_back(std::move(table));
    Table steps;
    steps.caption = "Limits of readings that hold a step";
    steps.columns = {
        {"Step", 2, Align::left}, {"Limit", 1.6, Align::left}, {"Source", 3, Align::left}};
    facts.each_step([&](visit::StageView const&, visit::StepView const& view) {
        auto const& step = *view.step;
        if (!step.low && !step.high) return;
        steps.rows.push_back({plain(step.name),
                              plain(fmt::format("{}{}{} {}",
                                                step.low ? "at least " + shortest(*step.low) : "",
                                                step.low && step.high ? ", " : "",
                                                step.high ? "at most " + shortest(*step.high) : "",
                                                step.unit)),
                              plain(step.limit_source)});
    });
    out.emplace_back(std::move(steps));
    Table constants;
    constants.caption = "Tables of constants in the program that made this";
    constants.columns = {{"Table", 1.4, Align::left}, {"SHA-256", 4, Align::left}};
    for (auto const& item : constant_tables(facts))
        constants.rows.push_back({plain(item.name), plain(item.sha256)});
    out.emplace_back(std::move(constants));
    return out;
}

Blocks evidence_section(HandoverFacts const& facts) {
    Blocks out;
    out.emplace_back(Heading{"Evidence and integrity", 1});
    out.emplace_back(Paragraph{fmt::format(
        "Every entry of the journal is sealed with the one before it. When this was made the "
        "journal "
        "had {} entries, the last of hash {}. Whoever holds the record could write it anew from "
        "the "
        "start: against that stands only a head that somebody else has noted, here or elsewhere.",
        facts.head.entries,
        facts.head.hash)});
    out.emplace_back(report::PenLine{"Head of the journal noted by (name, date):"});
    Table table;
    table.columns = {{"Entry", 0.5, Align::right},
                     {"Step", 1.6, Align::left},
                     {"File", 1.7, Align::left},
                     {"SHA-256", 3.6, Align::left}};
    table.type_size = 6;
    table.if_empty = "No file was handed in.";
    facts.each_step([&](auto const&, visit::StepView const& step) {
        for (auto const& evidence : step.evidence)
            if (!evidence.sha256.empty())
                table.rows.push_back(
                    {plain(std::to_string(evidence.entry)),
                     plain(step.step->name),
                     plain(evidence.file +
                           (evidence.standing == visit::Standing::current
                                ? ""
                                : " (" + std::string(visit::name(evidence.standing)) + ")")),
                     plain(evidence.sha256)});
    });
    out.emplace_back(std::move(table));
    return out;
}

Blocks signatures_section(HandoverFacts const& facts) {
    Blocks out;
    out.emplace_back(Heading{"Signatures", 1});
    if (facts.shown.signatures.empty())
        out.emplace_back(Paragraph{"Nobody had signed when this was made.", true});
    for (auto const& signature : facts.shown.signatures) {
        auto table = pairs();
        auto const row = [&](std::string title, std::string text, bool strong = false) {
            table.rows.push_back({{std::move(title), {}, true}, {std::move(text), {}, strong}});
        };
        if (!signature.valid) {
            table.caption = fmt::format("Entry {}: NOT VALID", signature.entry);
            row("What is wrong", signature.problem, true);
            out.emplace_back(std::move(table));
            continue;
        }
        auto const& said = signature.said;
        table.caption = fmt::format("{}: {}{}",
                                    visit::title(said.statement),
                                    said.signer,
                                    signature.withdrawn ? " (WITHDRAWN since)" : "");
        row("Statement", std::string(visit::words(said.statement)));
        row("Signed",
            fmt::format("{}, entry {}; the clock {}", said.at, signature.entry, said.clock));
        row("Fingerprint of the key", said.key);
        row("Head of the journal",
            fmt::format("{} entries, {}", said.head.entries, said.head.hash));
        row("Findings then, SHA-256", said.findings_sha256);
        row("Listed with it",
            said.listed.empty() ? "nothing was open or failed"
                                : fmt::format("{} lines", said.listed.size()));
        for (auto const& item : said.listed) row("", item);
        for (auto const& item : said.reservations) row("Reservation", item, true);
        if (signature.of_earlier_state()) {
            row("Of an earlier state",
                fmt::format("{} entries came after it", signature.later.size()),
                true);
            for (auto const& later : signature.later) row("", later);
        }
        out.emplace_back(std::move(table));
    }
    out.emplace_back(soft(
        "A signature is Ed25519 over the statement, the findings and open lines of that moment, "
        "and the "
        "head of the journal. It shows which key signed, not that the time is right. A key is its "
        "person's when that person has told you its fingerprint. How to check it without this "
        "program: "
        "README.txt in the bundle."));
    out.emplace_back(report::PenLine{"By hand, where both parties sign on paper (name, date):"});
    out.emplace_back(report::PenLine{"(name, date):"});
    return out;
}

Blocks checklist_section(HandoverFacts const& facts) {
    Blocks out;
    out.emplace_back(Heading{"What an auditor asks, and where it stands", 1});
    auto const list = auditor_checklist(facts);
    if (!list) {
        out.emplace_back(soft(one_line(list.error())));
        return out;
    }
    Table table;
    table.columns = {{"Asked for", 2.8, Align::left},
                     {"", 0.7, Align::left},
                     {"Where, or what is not there", 2.4, Align::left},
                     {"Source", 1.9, Align::left}};
    for (auto const& line : *list)
        table.rows.push_back({plain(line.asks),
                              {line.answered ? "shown" : "NOT THERE", {}, !line.answered},
                              plain(line.where),
                              plain(line.source)});
    out.emplace_back(std::move(table));
    return out;
}

}  // namespace gw::desk
