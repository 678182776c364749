#include "visit/chart.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "base/text.hpp"
#include "metrology/statistics.hpp"

namespace gw::visit {

namespace {

constexpr std::size_t least_readings = 8;
constexpr char const* barometer = "ambient_kpa";

struct Limits {
    double individuals{}, ewma{}, cusum{};
};

// Readings of two columns in the rows both have, as value of the first over the second.
trace::SeriesColumn over(trace::SeriesColumn const& a, trace::SeriesColumn const& b, double times) {
    trace::SeriesColumn out;
    out.name = a.name;
    for (std::size_t i = 0, j = 0; i < a.row.size() && j < b.row.size();) {
        if (a.row[i] < b.row[j]) {
            ++i;
        } else if (a.row[i] > b.row[j]) {
            ++j;
        } else {
            if (b.y[j] != 0) {
                out.t.push_back(a.t[i]);
                out.y.push_back(times * a.y[i] / b.y[j]);
                out.row.push_back(a.row[i]);
            }
            ++i, ++j;
        }
    }
    return out;
}

struct Break {
    double at{};
    std::string event;
};
std::vector<Break> breaks_of(trace::SeriesTable const& series, ChartOptions const& options) {
    std::vector<Break> out;
    for (std::size_t i = 0; i < series.t.size(); ++i)
        if (!series.events[i].empty()) out.push_back({series.t[i], series.events[i]});
    for (double const at : options.breaks) out.push_back({at, "break"});
    std::sort(out.begin(), out.end(), [](auto const& a, auto const& b) { return a.at < b.at; });
    return out;
}

void chart_stretch(ChartStretch& s, ChartOptions const& options, Limits const& limits) {
    std::size_t const n = s.y.size();
    s.limit = limits.individuals;
    s.ewma_limit = limits.ewma;
    s.cusum_limit = limits.cusum;
    std::span<double const> const y(s.y);
    s.base = metrology::individuals_base(y.first(std::min(n, options.reference)));
    double const rounding = 1e-12 * std::abs(s.base.centre);
    s.enough = n >= least_readings && s.base.sigma > rounding;
    if (!s.enough) return;
    double const sigma = s.base.sigma, centre = s.base.centre;
    for (std::size_t i = 0; i < n; ++i)
        if (std::abs(y[i] - centre) > s.limit * sigma) s.individual_signals.push_back(s.t[i]);
    // Upper limit of the moving range of two: D4 = 3.267 at 3 sigma (ISO 7870-2), d2 + L d3 with
    // d3 = 0.853 of two values.
    double const d3 = std::sqrt(2.0 - metrology::d2(2) * metrology::d2(2));
    double const range_limit = (metrology::d2(2) + s.limit * d3) * sigma;
    for (std::size_t i = 1; i < n; ++i)
        if (std::abs(y[i] - y[i - 1]) > range_limit) s.range_signals.push_back(s.t[i]);
    s.ewma = metrology::ewma(y, s.base, options.lambda, limits.ewma);
    for (std::size_t i = 0; i < n; ++i)
        if (s.ewma[i].outside) s.ewma_signals.push_back(s.t[i]);
    auto const sums = metrology::cusum(y, centre, options.k * sigma, limits.cusum * sigma);
    bool was = false;
    for (std::size_t i = 0; i < n; ++i) {
        if (sums[i].outside && !was) {
            bool const up = sums[i].high > limits.cusum * sigma;
            std::size_t const run = up ? sums[i].run_high : sums[i].run_low;
            s.cusum_signals.push_back({s.t[i], s.t[i + 1 - run], up});
        }
        was = sums[i].outside;
    }
    s.change = metrology::change_point(s.t, y);
}

Chart chart_of(trace::SeriesColumn const& column,
               std::string corrected_for,
               std::vector<Break> const& breaks,
               ChartOptions const& options,
               Limits const& limits) {
    Chart out;
    out.name = column.name;
    out.corrected_for = std::move(corrected_for);
    ChartStretch now;
    std::size_t next = 0;
    auto const close = [&] {
        if (now.y.empty()) return;
        chart_stretch(now, options, limits);
        out.stretches.push_back(std::move(now));
        now = {};
    };
    for (std::size_t i = 0; i < column.t.size(); ++i) {
        bool broken = false;
        std::string event;
        for (; next < breaks.size() && breaks[next].at <= column.t[i]; ++next) {
            broken = true;
            event = event.empty() ? breaks[next].event : event + "; " + breaks[next].event;
        }
        if (broken) {
            close();
            now.event = event;
        }
        now.t.push_back(column.t[i]);
        now.y.push_back(column.y[i]);
    }
    close();
    return out;
}

bool wanted(ChartOptions const& options, std::string const& name) {
    return options.columns.empty() ||
           std::find(options.columns.begin(), options.columns.end(), name) != options.columns.end();
}

void warn(Charts& out) {
    for (auto const& chart : out.charts)
        for (auto const& s : chart.stretches) {
            auto const where =
                s.event.empty() ? chart.name : fmt::format("{} after \"{}\"", chart.name, s.event);
            if (!s.enough)
                out.warnings.push_back(fmt::format(
                    "{}: {} readings{}; eight that scatter are the least for a chart. Nothing is "
                    "signalled.",
                    where,
                    s.y.size(),
                    s.y.size() >= least_readings ? " without scatter" : ""));
            else if (s.base.n < 20)
                out.warnings.push_back(fmt::format(
                    "{}: centre and scatter come from {} readings; with fewer than 20 the rate of "
                    "false alarms is not what was chosen.",
                    where,
                    s.base.n));
        }
}

}  // namespace

Result<Charts> charts(trace::SeriesTable const& series, ChartOptions const& options) {
    Limits limits;
    GW_TRY(limits.ewma, metrology::ewma_limit_for(options.lambda, options.run_length));
    GW_TRY(limits.cusum, metrology::cusum_limit_for(options.k, options.run_length));
    limits.individuals = metrology::normal_quantile(1 - 0.5 / options.run_length);
    for (auto const& name : options.columns)
        if (series.find(name) == nullptr)
            return fail(Errc::not_found,
                        fmt::format("The series has no column {}.", name),
                        "--column",
                        "name one of its titles");
    Charts out;
    out.warnings = series.warnings;
    auto const breaks = breaks_of(series, options);
    auto const* pressure = series.find(barometer);
    auto const* methane = series.find("factor:methane");
    for (auto const& column : series.columns) {
        if (column.name == barometer || !wanted(options, column.name) || column.y.empty()) continue;
        if (options.ratios && column.name.rfind("factor:", 0) == 0 && methane != nullptr &&
            &column != methane) {
            out.charts.push_back(
                chart_of(over(column, *methane, 1), "methane", breaks, options, limits));
            continue;
        }
        out.charts.push_back(chart_of(column, "", breaks, options, limits));
        if (column.name == "total" && pressure != nullptr && !pressure->y.empty()) {
            double const reference = options.reference_kpa.value_or(pressure->y.front());
            out.charts.push_back(
                chart_of(over(column, *pressure, reference), "barometer", breaks, options, limits));
        }
    }
    if (options.ratios && methane == nullptr)
        out.warnings.emplace_back("No column factor:methane: factors are charted as they are.");
    warn(out);
    return out;
}

namespace {

Json time_json(double seconds, trace::SeriesTable const& series) {
    return series.start ? Json(series.time_text(seconds)) : Json(seconds);
}

Json times_json(std::vector<double> const& times, trace::SeriesTable const& series) {
    Json out = Json::array();
    for (double const t : times) out.push_back(time_json(t, series));
    return out;
}

char const* word(metrology::Change change) {
    switch (change) {
        case metrology::Change::none:
            return "none";
        case metrology::Change::step:
            return "step";
        case metrology::Change::drift:
            break;
    }
    return "drift";
}

Json change_json(metrology::ChangePoint const& c, trace::SeriesTable const& series) {
    Json out{{"kind", word(c.change)}, {"p_value", c.p_value}};
    if (c.change == metrology::Change::none) return out;
    out["at"] = time_json(c.at, series);
    out["interval"] = Json::array({time_json(c.from, series), time_json(c.to, series)});
    out["before"] = c.before;
    out["after"] = c.after;
    out["u"] = c.u_after;
    if (c.change == metrology::Change::drift) out["rate_per_day"] = c.rate * 86400;
    return out;
}

}  // namespace

Json charts_json(Charts const& charts,
                 trace::SeriesTable const& series,
                 ChartOptions const& options) {
    Json list = Json::array();
    for (auto const& chart : charts.charts) {
        Json stretches = Json::array();
        for (auto const& s : chart.stretches) {
            Json cusum = Json::array();
            for (auto const& signal : s.cusum_signals)
                cusum.push_back({{"at", time_json(signal.at, series)},
                                 {"began", time_json(signal.began, series)},
                                 {"side", signal.upward ? "high" : "low"}});
            double const half = s.limit * s.base.sigma;
            stretches.push_back(
                {{"event", s.event.empty() ? Json(nullptr) : Json(s.event)},
                 {"from", time_json(s.t.front(), series)},
                 {"to", time_json(s.t.back(), series)},
                 {"n", s.y.size()},
                 {"enough", s.enough},
                 {"centre", s.base.centre},
                 {"sigma", s.base.sigma},
                 {"individuals",
                  {{"low", s.base.centre - half},
                   {"high", s.base.centre + half},
                   {"signals", times_json(s.individual_signals, series)}}},
                 {"moving_range", {{"signals", times_json(s.range_signals, series)}}},
                 {"ewma", {{"L", s.ewma_limit}, {"signals", times_json(s.ewma_signals, series)}}},
                 {"cusum", {{"h", s.cusum_limit}, {"signals", cusum}}},
                 {"change", change_json(s.change, series)}});
        }
        list.push_back({{"name", chart.name},
                        {"corrected_for",
                         chart.corrected_for.empty() ? Json(nullptr) : Json(chart.corrected_for)},
                        {"stretches", stretches}});
    }
    return Json{{"charts", list},
                {"run_length", options.run_length},
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
                                  "change");
    for (auto const& chart : charts.charts)
        for (auto const& s : chart.stretches) {
            auto name = chart.name;
            if (!chart.corrected_for.empty()) name += " / " + chart.corrected_for;
            std::string change = "none";
            if (!s.enough) {
                change = "too few readings";
            } else if (s.change.change != metrology::Change::none) {
                change = fmt::format("{} from {} ({} to {}), {:.5g} to {:.5g}",
                                     word(s.change.change),
                                     series.time_text(s.change.at),
                                     series.time_text(s.change.from),
                                     series.time_text(s.change.to),
                                     s.change.before,
                                     s.change.after);
            }
            if (!s.event.empty())
                out += fmt::format("-- {} at {}\n", s.event, series.time_text(s.t.front()));
            out += fmt::format("{:<28}{:>6}{:>14.6g}{:>12.4g}{:>8}{:>7}{:>7}  {}\n",
                               name,
                               s.y.size(),
                               s.base.centre,
                               s.base.sigma,
                               s.individual_signals.size(),
                               s.ewma_signals.size(),
                               s.cusum_signals.size(),
                               change);
        }
    return out;
}

}  // namespace gw::visit
