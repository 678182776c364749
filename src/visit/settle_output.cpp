#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "base/text.hpp"
#include "visit/settle.hpp"

namespace gw::visit {

using metrology::Motion;

namespace {

char const* words(Motion motion) {
    switch (motion) {
        case Motion::too_few:
            return "too few readings";
        case Motion::still:
            return "still";
        case Motion::first_order:
            return "approach, first order";
        case Motion::second_order:
            return "approach, second order";
        case Motion::damped_swing:
            return "damped swing";
        case Motion::drift:
            return "steady drift";
        case Motion::wander:
            return "wanders";
    }
    return "";
}

Json time_json(std::optional<double> seconds, trace::SeriesTable const& series) {
    if (!seconds) return nullptr;
    return series.start ? Json(series.time_text(*seconds)) : Json(*seconds);
}

Json or_null(std::optional<double> value) { return value ? Json(*value) : Json(nullptr); }

}  // namespace

Json settlement_json(Settlement const& settlement, trace::SeriesTable const& series) {
    Json quantities = Json::array();
    for (auto const& q : settlement.quantities)
        quantities.push_back({{"name", q.name},
                              {"time_constant_s", or_null(q.approach.time_constant)},
                              {"remaining_change", or_null(q.approach.remaining_change)},
                              {"limit", or_null(q.limit)},
                              {"settled", q.limit ? Json(q.approach.settled) : Json(nullptr)},
                              {"motion", words(q.approach.motion)},
                              {"end_value", or_null(q.approach.end_value)},
                              {"scatter", q.approach.scatter},
                              {"ready_at", time_json(q.approach.ready_at, series)},
                              {"not_used", q.approach.set_aside}});
    Json interval = nullptr;
    if (settlement.ready_at)
        interval = Json::array(
            {time_json(settlement.ready_from, series), time_json(settlement.ready_to, series)});
    return Json{{"settled", settlement.settled},
                {"ready_at", time_json(settlement.ready_at, series)},
                {"ready_interval", interval},
                {"quantities", quantities},
                {"looks_like", settlement.causes},
                {"warnings", settlement.warnings}};
}

std::string settlement_text(Settlement const& settlement, trace::SeriesTable const& series) {
    std::string out = settlement.settled ? "Settled.\n" : "Not settled.\n";
    if (settlement.ready_at)
        out += fmt::format("{} {} (95 %: {} to {})\n",
                           settlement.settled ? "Ready since" : "Ready at",
                           series.time_text(*settlement.ready_at),
                           series.time_text(*settlement.ready_from),
                           series.time_text(*settlement.ready_to));
    else if (!settlement.settled)
        out += "No time can be foretold.\n";
    out += fmt::format("\n{:<24}{:<24}{:>14}{:>16}{:>12}  {}\n",
                       "quantity",
                       "motion",
                       "constant, s",
                       "still to come",
                       "limit",
                       "settled");
    for (auto const& q : settlement.quantities)
        out += fmt::format(
            "{:<24}{:<24}{:>14}{:>16}{:>12}  {}\n",
            q.name,
            words(q.approach.motion),
            q.approach.time_constant ? fixed(*q.approach.time_constant, 0) : "-",
            q.approach.remaining_change ? fmt::format("{:.4g}", *q.approach.remaining_change) : "-",
            q.limit ? fmt::format("{:.4g}", *q.limit) : "-",
            !q.limit             ? "not judged"
            : q.approach.settled ? "yes"
                                 : "no");
    return out;
}

}  // namespace gw::visit
