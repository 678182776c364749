#include "desk/history.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "base/base.hpp"
#include "desk/trace_view.hpp"
#include "trace/thinning.hpp"

namespace gw::desk {

namespace {

constexpr std::size_t most_signals = 400;

Json change_json(metrology::Change const& change) {
    if (change.kind == metrology::ChangeKind::none) return nullptr;
    auto const& m = change.chosen();
    return Json{{"kind", std::string(metrology::name(change.kind))},
                {"at_s", m.at},
                {"interval_s", Json::array({m.from, m.to})},
                {"before", change.before},
                {"after", change.before + m.size},
                {"p_value", change.p_value}};
}

Json stretch_json(visit::ChartStretch const& s, metrology::ChartLimits const& limits) {
    auto const& c = s.chart;
    double const half = limits.individuals * c.sd;
    Json signals = Json::array();
    std::size_t all = 0;
    for (auto const& [list, name] : {std::pair(&c.individuals, "single"),
                                     std::pair(&c.moving_range, "range"),
                                     std::pair(&c.ewma, "ewma"),
                                     std::pair(&c.cusum, "cusum")})
        for (auto const& signal : *list)
            if (++all <= most_signals)
                signals.push_back({{"at_s", s.t[signal.index]}, {"chart", name}});
    auto const number = [&](double x) { return s.judged() ? Json(x) : Json(nullptr); };
    return Json{{"event", s.event.empty() ? Json(nullptr) : Json(s.event)},
                {"from_s", s.t.front()},
                {"to_s", s.t.back()},
                {"n", s.y.size()},
                {"state", std::string(metrology::name(c.state))},
                {"centre", number(c.mean)},
                {"sigma", number(c.sd)},
                {"low", number(c.mean - half)},
                {"high", number(c.mean + half)},
                {"change", change_json(c.change)},
                {"signals", std::move(signals)},
                {"signals_in_all", all}};
}

}  // namespace

std::size_t History::bytes() const {
    std::size_t out = 4096 + series.t.size() * (sizeof(double) + sizeof(std::string));
    for (auto const& column : series.columns)
        out += column.y.size() * (2 * sizeof(double) + sizeof(std::size_t));
    return out;
}

std::string unit_of_series(std::string_view column) {
    auto const starts = [&](std::string_view with) {
        return column.substr(0, with.size()) == with;
    };
    if (starts("mole_percent:") || starts("unnormalised_total") || starts("total")) return "mol%";
    if (starts("component_bias")) return "mol%";
    if (starts("cv_") || starts("factor_shift") || starts("factor_pattern")) return "%";
    if (starts("retention:")) return "s";
    if (starts("density")) return "kg/m3";
    if (starts("oven_c")) return "degC";
    if (starts("ambient_kpa")) return "kPa";
    return "";
}

Json history_json(History const& history) {
    auto const& s = history.series;
    Json columns = Json::array(), breaks = Json::array();
    for (auto const& column : s.columns) {
        if (column.y.empty()) continue;
        auto const [low, high] = std::minmax_element(column.y.begin(), column.y.end());
        columns.push_back({{"name", column.name},
                           {"unit", unit_of_series(column.name)},
                           {"count", column.y.size()},
                           {"lowest", *low},
                           {"highest", *high}});
    }
    for (std::size_t i = 0; i < s.events.size(); ++i)
        if (!s.events[i].empty()) breaks.push_back({{"at_s", s.t[i]}, {"what", s.events[i]}});
    return Json{{"id", history.id},
                {"name", history.source},
                {"start", s.start ? Json(to_text(*s.start)) : Json(nullptr)},
                {"from_s", s.t.empty() ? 0.0 : s.t.front()},
                {"to_s", s.t.empty() ? 0.0 : s.t.back()},
                {"rows", s.t.size()},
                {"columns", std::move(columns)},
                {"breaks", std::move(breaks)},
                {"warnings", s.warnings}};
}

Result<std::string> history_block(History const& history, HistoryStretch const& stretch) {
    auto const* column = history.series.find(stretch.column);
    if (column == nullptr)
        return fail(Errc::not_found,
                    fmt::format("There is no column \"{}\".", stretch.column.substr(0, 60)),
                    "column",
                    "take one that the list names");
    if (!(stretch.to_s >= stretch.from_s))
        return fail(Errc::bad_input, "This stretch has no length.", "to", "end it after its start");
    auto const& t = column->t;
    auto first =
        static_cast<std::size_t>(std::lower_bound(t.begin(), t.end(), stretch.from_s) - t.begin());
    auto end =
        static_cast<std::size_t>(std::upper_bound(t.begin(), t.end(), stretch.to_s) - t.begin());
    if (first > 0) --first;
    if (end < t.size()) ++end;
    std::span<double const> const y(column->y.data() + first, end - first);
    auto const most = std::clamp<std::size_t>(stretch.most, 4, 20000);
    std::vector<std::vector<double>> rows(2);
    for (auto const k : trace::thinned(y, most)) {
        rows[0].push_back(t[first + k]);
        rows[1].push_back(y[k]);
    }
    return number_block(rows);
}

Result<Json> history_chart(History const& history, std::string const& column) {
    auto const nowhere = [&] {
        return fail(Errc::not_found,
                    fmt::format("There is no chart of \"{}\".", column.substr(0, 60)),
                    "column",
                    "take one that the list names");
    };
    if (column.empty() || history.series.find(column) == nullptr) return nowhere();
    visit::ChartOptions options;
    options.keep_points = false;
    options.only = column;
    GW_TRY(auto const charts, visit::charts(history.series, options));
    if (charts.charts.empty()) return nowhere();
    Json out{{"charts", Json::array()},
             {"run_length", charts.limits.run_length},
             {"false_alarm_days", charts.false_alarm_days},
             {"warnings", charts.warnings}};
    for (auto const& chart : charts.charts) {
        Json stretches = Json::array();
        for (auto const& s : chart.stretches) stretches.push_back(stretch_json(s, charts.limits));
        out["charts"].push_back(
            {{"name", chart.name},
             {"corrected_for",
              chart.corrected_for.empty() ? Json(nullptr) : Json(chart.corrected_for)},
             {"decides", chart.decides},
             {"stretches", std::move(stretches)}});
    }
    return out;
}

}  // namespace gw::desk
