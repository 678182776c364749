#include "visit/chart.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.hpp"
#include "metrology/statistics.hpp"

namespace gw::visit {

namespace {

constexpr char const* barometer = "ambient_kpa";
constexpr double seconds_a_day = 86400;
// Three charts of each column raise alarms of a shift or a wild reading: individuals, EWMA, CUSUM.
constexpr double charts_a_column = 3;

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

// bare: without readings, for what is counted and not judged.
Chart chart_of(trace::SeriesColumn const& column,
               std::string corrected_for,
               std::vector<Break> const& breaks,
               bool bare) {
    Chart out;
    out.name = column.name;
    out.corrected_for = std::move(corrected_for);
    ChartStretch now;
    std::size_t next = 0;
    bool any = false;
    auto const close = [&] {
        if (!any) return;
        out.stretches.push_back(std::move(now));
        now = {};
        any = false;
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
        any = true;
        if (bare) continue;
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

std::vector<Chart> charts_of(trace::SeriesTable const& series, ChartOptions const& options) {
    std::vector<Chart> out;
    auto const breaks = breaks_of(series, options);
    auto const* pressure = series.find(barometer);
    auto const* methane = series.find("factor:methane");
    for (auto const& column : series.columns) {
        if (column.name == barometer || !wanted(options, column.name) || column.y.empty()) continue;
        bool const bare = !options.only.empty() && column.name != options.only;
        if (options.ratios && column.name.rfind("factor:", 0) == 0 && methane != nullptr &&
            &column != methane) {
            out.push_back(chart_of(over(column, *methane, 1), "methane", breaks, bare));
            continue;
        }
        out.push_back(chart_of(column, "", breaks, bare));
        if (column.name == "total" && pressure != nullptr && !pressure->y.empty()) {
            double const reference = options.reference_kpa.value_or(pressure->y.front());
            out.back().decides = false;
            out.push_back(chart_of(over(column, *pressure, reference), "barometer", breaks, bare));
        }
    }
    return out;
}

double readings_a_day(trace::SeriesTable const& series) {
    std::vector<double> steps;
    for (std::size_t i = 1; i < series.t.size(); ++i)
        steps.push_back(series.t[i] - series.t[i - 1]);
    double const step = metrology::median(std::move(steps));
    return step > 0 ? seconds_a_day / step : 1;
}

Result<> check(trace::SeriesTable const& series, ChartOptions const& options) {
    if (options.run_length && !(*options.run_length >= 5 && *options.run_length <= 1e7))
        return fail(
            Errc::out_of_range,
            fmt::format("A run length of {:.4g} readings is not offered.", *options.run_length),
            "--run-length",
            "give 5 to 10000000");
    if (!(options.false_alarm_days > 0))
        return fail(Errc::out_of_range,
                    "The days between false alarms must be above zero.",
                    "--false-alarm-days");
    if (!(options.lambda >= 0.02 && options.lambda <= 1))
        return fail(Errc::out_of_range, "The weight lambda is from 0.02 to 1.", "--lambda");
    if (!(options.k >= 0.1 && options.k <= 2))
        return fail(Errc::out_of_range, "The allowance k is from 0.1 to 2 sigma.", "--k");
    if (options.learning < 6)
        return fail(Errc::out_of_range, "At least six readings are learned from.", "--reference");
    auto asked = options.columns;
    if (!options.only.empty()) asked.push_back(options.only);
    for (auto const& name : asked)
        if (series.find(name) == nullptr)
            return fail(Errc::not_found,
                        fmt::format("The series has no column {}.", name),
                        "--column",
                        "name one of its titles");
    return {};
}

// Every chart's run length so that all deciding ones together keep the days between false alarms.
void set_limits(trace::SeriesTable const& series, ChartOptions const& options, Charts& out) {
    double deciding = 0;
    for (auto const& chart : out.charts) deciding += chart.decides ? charts_a_column : 0;
    double const a_day = readings_a_day(series) * std::max(deciding, 1.0);
    double const asked = options.run_length.value_or(options.false_alarm_days * a_day);
    double const run_length = std::clamp(asked, 5.0, 1e7);
    if (run_length != asked)
        out.warnings.push_back(
            fmt::format("Limits go to a run length of 10 million readings: with so many readings a "
                        "day that is a false alarm in {:.3g} days.",
                        run_length / a_day));
    out.limits = metrology::chart_limits(run_length, options.lambda, options.k);
    out.false_alarm_days = run_length / a_day;
}

void judge(ChartOptions const& options, Charts& out) {
    double looks = 0;
    for (auto const& chart : out.charts)
        looks += chart.decides ? static_cast<double>(chart.stretches.size()) : 0;
    metrology::ChartOptions each;
    each.learning = options.learning;
    each.change.significance = options.significance / std::max(looks, 1.0);
    if (!options.only.empty())
        std::erase_if(out.charts, [&](Chart const& chart) { return chart.name != options.only; });
    for (auto& chart : out.charts)
        for (auto& s : chart.stretches) {
            each.reference.reset();
            if (&s == &chart.stretches.back())
                for (auto const& known : options.passport)
                    if (known.name == chart.name) each.reference = known.reference;
            s.passport = each.reference.has_value();
            s.chart = metrology::control_chart(s.t, s.y, out.limits, each);
            if (!options.keep_points) std::vector<metrology::ChartPoint>().swap(s.chart.points);
        }
}

void warn(ChartOptions const& options, Charts& out) {
    for (auto const& chart : out.charts)
        for (auto const& s : chart.stretches) {
            if (s.judged()) continue;
            auto const where =
                s.event.empty() ? chart.name : fmt::format("{} after \"{}\"", chart.name, s.event);
            if (s.chart.state == metrology::ChartState::not_yet)
                out.warnings.push_back(
                    fmt::format("{}: {} reading{}; {} are the least for a chart. Nothing is "
                                "signalled.",
                                where,
                                s.y.size(),
                                s.y.size() == 1 ? "" : "s",
                                s.chart.needed));
            else
                out.warnings.push_back(fmt::format(
                    "{}: {} readings without scatter: a frozen value, or one rounded too far.",
                    where,
                    s.y.size()));
        }
    for (auto const& known : options.passport)
        if (std::none_of(out.charts.begin(), out.charts.end(), [&](Chart const& chart) {
                return chart.name == known.name;
            }))
            out.warnings.push_back(
                fmt::format("The passport names {}, which is not charted.", known.name));
}

}  // namespace

Result<std::vector<ChartPassport>> read_chart_passport(Field const& root) {
    GW_CHECK(require_schema(root, "chart-passport"));
    auto const inner = root.find("quantities");
    GW_TRY(auto const members, (inner ? *inner : root).members());
    std::vector<ChartPassport> out;
    for (auto const& [name, field] : members) {
        if (!inner && name == "schema") continue;
        ChartPassport one{name, {}};
        GW_TRY(one.reference.mean, field.number("mean"));
        GW_TRY(auto const sd, field.at("sd"));
        GW_TRY(one.reference.sd, sd.number());
        if (!(one.reference.sd > 0))
            return sd.wrong("A standard deviation must be above zero.", "correct it");
        out.push_back(std::move(one));
    }
    return out;
}

Result<Charts> charts(trace::SeriesTable const& series, ChartOptions const& options) {
    GW_CHECK(check(series, options));
    Charts out;
    out.warnings = series.warnings;
    out.charts = charts_of(series, options);
    if (options.ratios && series.find("factor:methane") == nullptr)
        out.warnings.emplace_back("No column factor:methane: factors are charted as they are.");
    set_limits(series, options, out);
    judge(options, out);
    warn(options, out);
    return out;
}

}  // namespace gw::visit
