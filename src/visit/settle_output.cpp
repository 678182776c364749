#include <fmt/format.h>

#include <algorithm>
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

namespace {

char const* unit_of(std::string const& name) {
    if (name == "oven_c") return "degC";
    if (name == "total") return "mol%";
    return name.starts_with("retention:") ? "s" : "";
}

Json readings_json(trace::SeriesColumn const& column,
                   metrology::Approach const& approach,
                   std::size_t most) {
    std::vector<bool> used(column.y.size(), true);
    for (auto const i : approach.set_aside)
        if (i < used.size()) used[i] = false;
    std::size_t const stride = std::max<std::size_t>(1, (column.y.size() + most - 1) / most);
    Json at = Json::array(), values = Json::array(), of = Json::array();
    for (std::size_t i = 0; i < column.y.size(); ++i) {
        // What was set aside is shown whatever is left out, and so is the last.
        if (i % stride != 0 && used[i] && i + 1 != column.y.size()) continue;
        at.push_back(column.t[i]);
        values.push_back(column.y[i]);
        of.push_back(static_cast<bool>(used[i]));
    }
    return Json{{"at_s", std::move(at)}, {"values", std::move(values)}, {"used", std::move(of)}};
}

}  // namespace

Json settlement_picture_json(Settlement const& settlement,
                             trace::SeriesTable const& series,
                             std::size_t most) {
    Json quantities = Json::array();
    for (auto const& q : settlement.quantities) {
        auto const* column = series.find(q.name);
        if (column == nullptr) continue;
        auto one = readings_json(*column, q.approach, most);
        Json curve = Json::array();
        for (auto const& p : q.approach.curve)
            curve.push_back({{"t_s", p.t}, {"y", p.y}, {"low", p.low}, {"high", p.high}});
        one.update({{"name", q.name},
                    {"unit", unit_of(q.name)},
                    {"limit", or_null(q.limit)},
                    {"settled", q.limit ? Json(q.approach.settled) : Json(nullptr)},
                    {"motion", words(q.approach.motion)},
                    {"time_constant_s", or_null(q.approach.time_constant)},
                    {"remaining_change", or_null(q.approach.remaining_change)},
                    {"end_value", or_null(q.approach.end_value)},
                    {"ready_at_s", or_null(q.approach.ready_at)},
                    {"curve", std::move(curve)}});
        quantities.push_back(std::move(one));
    }
    Json ready = nullptr;
    if (settlement.ready_at && settlement.ready_from && settlement.ready_to)
        ready = Json{{"at_s", *settlement.ready_at},
                     {"from_s", *settlement.ready_from},
                     {"to_s", *settlement.ready_to}};
    return Json{{"settled", settlement.settled},
                {"ready", std::move(ready)},
                {"looks_like", settlement.causes},
                {"warnings", settlement.warnings},
                {"quantities", std::move(quantities)}};
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
