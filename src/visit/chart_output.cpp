// Charts as data and as text.
#include <fmt/format.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "visit/chart.hpp"

namespace gw::visit {

namespace {

using metrology::ChangeKind;
using metrology::ChartSignal;

Json time_json(double seconds, trace::SeriesTable const& series) {
    return series.start ? Json(series.time_text(seconds)) : Json(seconds);
}

Json times_json(std::vector<ChartSignal> const& signals,
                ChartStretch const& s,
                trace::SeriesTable const& series) {
    Json out = Json::array();
    for (auto const& signal : signals) out.push_back(time_json(s.t[signal.index], series));
    return out;
}

Json change_json(metrology::Change const& c, trace::SeriesTable const& series) {
    Json out{{"kind", std::string(name(c.kind))}, {"p_value", c.p_value}};
    if (c.kind == ChangeKind::none) return out;
    auto const& m = c.chosen();
    out["at"] = time_json(m.at, series);
    out["interval"] = Json::array({time_json(m.from, series), time_json(m.to, series)});
    out["before"] = c.before;
    out["after"] = c.before + m.size;
    out["u"] = m.u_size;
    if (c.kind == ChangeKind::drift) out["rate_per_day"] = m.slope * 86400;
    return out;
}

Json stretch_json(ChartStretch const& s,
                  metrology::ChartLimits const& limits,
                  trace::SeriesTable const& series) {
    auto const& c = s.chart;
    Json cusum = Json::array(), aside = Json::array();
    for (auto const& signal : c.cusum)
        cusum.push_back({{"at", time_json(s.t[signal.index], series)},
                         {"began", time_json(s.t[signal.began], series)},
                         {"side", signal.direction > 0 ? "high" : "low"}});
    for (std::size_t i = 0; i < c.points.size(); ++i)
        if (c.points[i].set_aside && !c.points[i].judged)
            aside.push_back({{"at", time_json(s.t[i], series)},
                             {"value", s.y[i]},
                             {"why", "Grubbs, 1 %, among the first readings"}});
    double const half = limits.individuals * c.sd;
    return Json{{"event", s.event.empty() ? Json(nullptr) : Json(s.event)},
                {"from", time_json(s.t.front(), series)},
                {"to", time_json(s.t.back(), series)},
                {"n", s.y.size()},
                {"enough", s.judged()},
                {"state", std::string(name(c.state))},
                {"reference", s.passport ? "passport" : "readings before"},
                {"centre", c.mean},
                {"sigma", c.sd},
                {"set_aside", aside},
                {"individuals",
                 {{"low", c.mean - half},
                  {"high", c.mean + half},
                  {"sigma_from_moving_range", c.sigma_moving_range},
                  {"signals", times_json(c.individuals, s, series)}}},
                {"moving_range", {{"signals", times_json(c.moving_range, s, series)}}},
                {"ewma", {{"L", limits.ewma}, {"signals", times_json(c.ewma, s, series)}}},
                {"cusum", {{"h", limits.cusum}, {"signals", cusum}}},
                {"change", change_json(c.change, series)}};
}

bool in_control(Charts const& charts) {
    bool any = false;
    for (auto const& chart : charts.charts) {
        if (!chart.decides || chart.stretches.empty()) continue;
        any = true;
        if (chart.stretches.back().chart.state != metrology::ChartState::in_control) return false;
    }
    return any;
}

std::string found(ChartStretch const& s, trace::SeriesTable const& series) {
    auto const& c = s.chart;
    auto const state = std::string(name(c.state));
    if (c.state == metrology::ChartState::not_yet)
        return fmt::format("not yet: {} are the least", c.needed);
    if (c.change.kind == ChangeKind::none) return state;
    auto const& m = c.change.chosen();
    return fmt::format("{} from {} ({} to {}), {:.5g} to {:.5g}",
                       state,
                       series.time_text(m.at),
                       series.time_text(m.from),
                       series.time_text(m.to),
                       c.change.before,
                       c.change.before + m.size);
}

}  // namespace

Json charts_json(Charts const& charts,
                 trace::SeriesTable const& series,
                 ChartOptions const& options) {
    Json list = Json::array();
    for (auto const& chart : charts.charts) {
        Json stretches = Json::array();
        for (auto const& s : chart.stretches)
            stretches.push_back(stretch_json(s, charts.limits, series));
        list.push_back({{"name", chart.name},
                        {"corrected_for",
                         chart.corrected_for.empty() ? Json(nullptr) : Json(chart.corrected_for)},
                        {"decides", chart.decides},
                        {"stretches", stretches}});
    }
    return Json{{"charts", list},
                {"in_control", in_control(charts)},
                {"run_length", charts.limits.run_length},
                {"false_alarm_days", charts.false_alarm_days},
                {"lambda", options.lambda},
                {"k", options.k},
                {"warnings", charts.warnings}};
}

std::string charts_text(Charts const& charts, trace::SeriesTable const& series) {
    std::string out = fmt::format("{:<28}{:>6}{:>14}{:>12}{:>8}{:>7}{:>7}  {}\n",
                                  "chart",
                                  "n",
                                  "centre",
                                  "sigma",
                                  "single",
                                  "EWMA",
                                  "CUSUM",
                                  "state");
    for (auto const& chart : charts.charts)
        for (auto const& s : chart.stretches) {
            auto name = chart.name;
            if (!chart.corrected_for.empty()) name += " / " + chart.corrected_for;
            if (!chart.decides) name = "(" + name + ")";
            if (!s.event.empty())
                out += fmt::format("-- {} at {}\n", s.event, series.time_text(s.t.front()));
            out += fmt::format("{:<28}{:>6}{:>14.6g}{:>12.4g}{:>8}{:>7}{:>7}  {}\n",
                               name,
                               s.y.size(),
                               s.chart.mean,
                               s.chart.sd,
                               s.chart.individuals.size(),
                               s.chart.ewma.size(),
                               s.chart.cusum.size(),
                               found(s, series));
        }
    out += fmt::format(
        "Limits: individuals +-{:.2f} s, EWMA L {:.2f}, CUSUM h {:.2f} s: one false alarm in "
        "{:.0f} days, all charts together.\n",
        charts.limits.individuals,
        charts.limits.ewma,
        charts.limits.cusum,
        charts.false_alarm_days);
    return out;
}

}  // namespace gw::visit
