#include "desk/handover_facts.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "base/base.hpp"

namespace gw::desk {

namespace {

// Titles that stand alone in a table: which cylinder, and no instruction.
std::string reader_title(metrology::Finding const& finding) {
    for (auto const* id :
         {"certificate_sum", "certificate_cv", "expiry", "pressure", "cold_exposure", "can_decide"})
        if (finding.id == id && !finding.gas.empty())
            return fmt::format("{}, {} gas", finding.title, finding.gas);
    return finding.id == "leak_rate" ? std::string("Leak rate") : finding.title;
}

}  // namespace

visit::Evidence const* HandoverFacts::of_step(std::string_view step) const {
    auto const* view = state().find(step);
    return view == nullptr ? nullptr : view->current();
}

visit::Evidence const* HandoverFacts::of_role(std::string_view role, std::string_view basis) const {
    visit::Evidence const* found = nullptr;
    each_step([&](visit::StageView const&, visit::StepView const& step) {
        if (step.step->role == role && step.step->basis == basis && step.current() != nullptr)
            found = step.current();
    });
    return found;
}

std::optional<std::string> HandoverFacts::bytes(visit::Evidence const* evidence) const {
    if (evidence == nullptr || evidence->sha256.empty()) return std::nullopt;
    auto kept = store.evidence(evidence->sha256);
    return kept ? std::optional(*std::move(kept)) : std::nullopt;
}

JudgedState const* HandoverFacts::judged(std::string const& basis) const {
    auto const found = findings.judged.find(basis);
    return found == findings.judged.end() ? nullptr : &found->second;
}

metrology::Finding const* HandoverFacts::finding(std::string_view id,
                                                 std::string_view basis) const {
    for (auto const& finding : findings.findings)
        if (finding.id == id && finding.basis == basis) return &finding;
    return nullptr;
}

Json HandoverFacts::known(std::string const& subject) const {
    auto const line = store.thing(subject);
    if (!line || !*line) return nullptr;
    auto const document = parse_json((*line)->body, subject);
    return document ? document->root().raw() : Json(nullptr);
}

void HandoverFacts::each_step(
    std::function<void(visit::StageView const&, visit::StepView const&)> const& look) const {
    for (auto const& stage : state().stages)
        for (auto const& step : stage.steps) look(stage, step);
}

Result<HandoverFacts> handover_facts(store::Store const& store,
                                     visit::VisitShown const& shown,
                                     std::string const& program) {
    HandoverFacts out{store, shown, visit_findings(shown.state, store), {}, {}, {}, {}, program};
    GW_TRY(out.head, store.head());
    for (auto& finding : out.findings.findings) finding.title = reader_title(finding);
    out.analyser = out.known("analyser:" + shown.state.analyser);
    out.site = out.known("site:" + shown.state.site);
    if (out.analyser.is_object()) {
        auto const notice = out.analyser.find("notice");
        if (notice != out.analyser.end() && notice->is_string())
            out.notice = notice->get<std::string>();
    }
    return out;
}

std::string short_time(std::string const& instant) {
    auto const at = parse_instant(instant, "at");
    if (!at) return instant;
    auto text = to_text(*at);
    if (text.size() < 17 || text[10] != 'T') return text;
    text[10] = ' ';
    auto const zone = text.find_first_of("Z+-", 16);
    return text.substr(0, 16) + (zone == std::string::npos ? "" : text.substr(zone));
}

std::string told(visit::Evidence const& evidence) {
    std::string out = !evidence.file.empty()   ? evidence.file
                      : evidence.value.empty() ? evidence.text
                                               : evidence.value;
    if (!evidence.file.empty() && evidence.number)
        out += fmt::format(": {} {}", fmt::format("{:.3g}", *evidence.number), evidence.unit);
    else if (!evidence.unit.empty())
        out += " " + evidence.unit;
    if (evidence.u && evidence.file.empty()) out += fmt::format(", u {}", shortest(*evidence.u));
    if (!evidence.with.empty()) out += ", with " + evidence.with;
    if (!evidence.text.empty() && evidence.text != out) out += "; " + evidence.text;
    return out;
}

}  // namespace gw::desk
