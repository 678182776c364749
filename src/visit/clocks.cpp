#include "visit/clocks.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.hpp"

namespace gw::visit {

namespace {

constexpr std::int64_t late_ms =
    15 * 60000;  // common practice, no source: later than this is from memory

std::optional<Instant> instant_of(std::string const& text) {
    if (text.empty()) return std::nullopt;
    auto const instant = parse_instant(text, "at");
    return instant ? std::optional(*instant) : std::nullopt;
}

std::optional<double> offset_of(VisitState const& visit, std::string_view clock) {
    for (auto const& known : visit.clocks)
        if (known.clock == clock) return known.offset_s;
    return std::nullopt;
}

std::optional<Instant> by_trusted_clock(VisitState const& visit,
                                        std::string const& text,
                                        std::string_view clock) {
    auto instant = instant_of(text);
    auto const offset = offset_of(visit, clock);
    if (instant && offset) instant->milliseconds -= std::llround(*offset * 1000);
    return instant;
}

std::optional<std::int64_t> when(Evidence const& evidence) {
    auto const instant = instant_of(evidence.trusted.empty() ? evidence.at : evidence.trusted);
    return instant ? std::optional(instant->milliseconds) : std::nullopt;
}

void say_trusted(VisitState const& visit, Evidence& evidence) {
    auto const offset = offset_of(visit, evidence.clock);
    auto const at = by_trusted_clock(visit, evidence.at, evidence.clock);
    if (!offset || !at) return;
    evidence.trusted = to_text(*at);
}

void mark_late(VisitState const& visit, Evidence& evidence) {
    auto const at = when(evidence);
    auto const recorded = by_trusted_clock(visit, evidence.recorded, device_clock);
    if (!at || !recorded || recorded->milliseconds - *at <= late_ms) return;
    evidence.late = true;
    evidence.marks.push_back(fmt::format("of {}, written down {}", evidence.at, evidence.recorded));
}

void mark_order(VisitState const& visit, Step const& step, Evidence& evidence) {
    auto const at = when(evidence);
    if (!at || evidence.standing == Standing::withdrawn || evidence.standing == Standing::aside)
        return;
    for (auto const& before : step.after) {
        auto const* view = visit.find(before);
        auto const* stood = view == nullptr ? nullptr : view->current();
        if (stood == nullptr) continue;
        if (auto const then = when(*stood); then && *at < *then)
            evidence.marks.push_back(
                fmt::format("of {}, before \"{}\" ({})", evidence.at, before, stood->at));
    }
}

}  // namespace

std::int64_t clock_offset_ms(VisitState const& visit, std::string_view clock) {
    for (auto const& known : visit.clocks)
        if (known.clock == clock) return std::llround(known.offset_s * 1000);
    return 0;
}

void order_by_trusted_time(VisitState& visit) {
    for (auto& stage : visit.stages)
        for (auto& step : stage.steps)
            for (auto& evidence : step.evidence) say_trusted(visit, evidence);
    for (auto& note : visit.notes) say_trusted(visit, note);
    for (auto& stage : visit.stages)
        for (auto& step : stage.steps)
            for (auto& evidence : step.evidence) {
                mark_late(visit, evidence);
                mark_order(visit, *step.step, evidence);
            }
    for (auto& note : visit.notes) mark_late(visit, note);
}

}  // namespace gw::visit
