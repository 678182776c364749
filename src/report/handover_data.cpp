#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "base/hash.hpp"
#include "base/json.hpp"
#include "base/text.hpp"
#include "report/comparison.hpp"
#include "report/handover.hpp"

namespace gw::report {

using metrology::Finding;
using metrology::Verdict;

namespace {

Finding const* independent_proof(std::vector<Finding> const& findings) {
    for (auto const& f : findings)
        if (f.id == "cv_bias") return &f;
    return nullptr;
}

std::size_t count_required(std::vector<Finding> const& findings) {
    return static_cast<std::size_t>(
        std::count_if(findings.begin(), findings.end(), [](Finding const& f) {
            return f.required && f.verdict != Verdict::not_applicable &&
                   f.verdict != Verdict::no_limit;
        }));
}

std::string lower_first(std::string text) {
    if (text.size() > 1 && text[0] >= 'A' && text[0] <= 'Z' && !(text[1] >= 'A' && text[1] <= 'Z'))
        text[0] = static_cast<char>(text[0] - 'A' + 'a');
    return text;
}

// No line may end between a value and its uncertainty or unit.
std::string kept_together(std::string text) {
    for (std::size_t i = 0; (i = text.find(' ', i)) != std::string::npos; i += 2)
        text.replace(i, 1, "\u00A0");
    return text;
}

// "Fails: calorific value on ... (-0.385 ± 0.095 %). Missing: ...": what stands against conformity.
std::string against(std::vector<Finding> const& findings) {
    std::vector<std::string> parts;
    for (auto const verdict :
         {Verdict::fails, Verdict::missing, Verdict::not_yet, Verdict::unclear}) {
        std::vector<std::string> titles;
        for (auto const& f : findings)
            if (f.required && f.verdict == verdict)
                titles.push_back(f.value ? fmt::format("{} ({})",
                                                       lower_first(title_of(f)),
                                                       kept_together(metrology::value_text(f)))
                                         : lower_first(title_of(f)));
        if (titles.empty()) continue;
        std::string name(metrology::name(verdict));
        std::replace(name.begin(), name.end(), '_', ' ');
        name[0] = static_cast<char>(name[0] - 'a' + 'A');
        parts.push_back(fmt::format("{}: {}.", name, joined(titles, "; ")));
    }
    return joined(parts, " ");
}

struct State {
    Verdict verdict{};
    bool shown = false;
    std::string why_not;
};

State state_of(std::vector<Finding> const& findings) {
    State out;
    out.verdict = metrology::overall(findings);
    out.why_not = against(findings);
    auto const* proof = independent_proof(findings);
    bool const provisional = std::any_of(findings.begin(), findings.end(), [](Finding const& f) {
        return f.required && f.provisional;
    });
    if (out.why_not.empty() && provisional) out.why_not = "A required finding is provisional.";
    if (out.why_not.empty() && (proof == nullptr || proof->verdict != Verdict::meets))
        out.why_not = "There is no proof on a gas independent of the calibration.";
    out.shown = out.verdict == Verdict::meets && out.why_not.empty();
    return out;
}

}  // namespace

HandoverAnswer answer_of(Handover const& handover) {
    bool const has_left = !handover.as_left.empty();
    auto const& last = has_left ? handover.as_left : handover.as_found;
    char const* const name = has_left ? "as left" : "as found";
    auto const state = state_of(last);
    HandoverAnswer out;
    out.shown = state.shown;
    out.verdict = state.verdict;
    // A set whose required findings meet can still lack its independent proof.
    if (!out.shown && out.verdict == Verdict::meets) out.verdict = Verdict::missing;
    out.heading = out.shown ? "Conformity shown" : "Conformity not shown";
    auto const day = to_text(handover.date);
    auto const criteria = handover.criteria.empty()
                              ? std::string()
                              : fmt::format(" (criteria set {})", handover.criteria);
    if (out.shown) {
        auto const& proof = *independent_proof(last);
        out.evidence = fmt::format(
            "From the evidence of {}, {}: all {} required findings{} meet their limits. On a "
            "certified "
            "gas independent of the calibration the calorific value differs from the certificate "
            "by {} (limit {}{}).",
            day,
            name,
            count_required(last),
            criteria,
            kept_together(metrology::value_text(proof)),
            kept_together(metrology::limit_text(proof)),
            proof.n ? fmt::format("; {} runs", *proof.n) : std::string());
    } else {
        out.evidence = fmt::format("On the evidence of {}, {}{}. {}",
                                   day,
                                   name,
                                   criteria,
                                   last.empty() ? "Nothing was judged." : state.why_not);
    }
    if (has_left && !handover.as_found.empty()) {
        auto const found = state_of(handover.as_found);
        out.before = found.shown
                         ? "As found, conformity was shown as well."
                         : fmt::format("As found, conformity was not shown. {}", found.why_not);
    }
    return out;
}

std::vector<std::string> standing_cautions() {
    return {
        "A record of measurements. Nothing here is authority to proceed with any work, nor to put "
        "the analyser into service or to rely on it.",
        "Local rules, the permit to work and the maker's instructions come before anything on "
        "this page.",
        "Numbers do not show that the analyser was left safe: isolation, leak test and seals "
        "rest on the record of the visit."};
}

std::string checksum_of(std::vector<Checksum> const& set) {
    std::string lines;
    for (auto const& item : set) lines += fmt::format("{}  {}\n", item.sha256, item.name);
    return sha256(lines);
}

Json handover_json(Handover const& handover) {
    auto const answer = answer_of(handover);
    auto const set = [](std::vector<Checksum> const& items) {
        Json list = Json::array();
        for (auto const& item : items)
            list.push_back(Json{{"name", item.name}, {"sha256", item.sha256}});
        return list;
    };
    Json traces = Json::array();
    for (auto const& figure : handover.traces)
        traces.push_back(Json{
            {"title", figure.title}, {"subtitle", figure.subtitle}, {"sha256", figure.trace.hash}});
    Json cautions = standing_cautions();
    for (auto const& caution : handover.cautions) cautions.push_back(caution);
    return Json{{"schema", "gaswright.handover/1"},
                {"site", handover.site},
                {"analyser", handover.analyser},
                {"occasion", handover.occasion},
                {"date", to_text(handover.date)},
                {"invented", handover.invented},
                {"conformity_shown", answer.shown},
                {"answer", Json{answer.heading, answer.evidence, answer.before}},
                {"consequence", handover.consequence},
                {"criteria", handover.criteria},
                {"as_found", metrology::findings_json(handover.as_found)},
                {"as_left", metrology::findings_json(handover.as_left)},
                {"traces", std::move(traces)},
                {"cautions", std::move(cautions)},
                {"evidence", set(handover.evidence)},
                {"evidence_sha256", checksum_of(handover.evidence)},
                {"tables", set(handover.tables)},
                {"tables_sha256", checksum_of(handover.tables)},
                {"program", handover.program}};
}

std::string data_checksum(Handover const& handover) {
    return sha256(to_text(handover_json(handover)));
}

}  // namespace gw::report
