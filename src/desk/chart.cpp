#include "desk/chart.hpp"

#include <fmt/format.h>

#include <filesystem>
#include <nlohmann/json.hpp>

#include "base/file.hpp"
#include "base/json.hpp"
#include "base/text.hpp"
#include "report/chart_figure.hpp"
#include "report/output.hpp"

namespace gw::desk {

namespace {

Result<double> seconds_of(std::string const& text, trace::SeriesTable const& table) {
    if (!table.start) {
        auto const number = parse_number(text);
        if (!number)
            return fail(Errc::bad_input,
                        fmt::format("\"{}\" is no time of this series.", text.substr(0, 40)),
                        "--break",
                        "write seconds, as the series does");
        return *number;
    }
    GW_TRY(auto const instant, parse_instant(text, "--break"));
    return 1e-3 * static_cast<double>(instant.milliseconds - table.start->milliseconds);
}

Result<> draw(ChartedSeries const& one, std::string const& path) {
    GW_TRY(auto const format, report::format_of(path, "--output"));
    report::ChartFigure figure;
    figure.title = std::filesystem::path(one.source).filename().string();
    figure.charts = one.charts;
    figure.series = &one.table;
    constexpr double width_mm = 190, edge = 10;
    report::Size const size{
        width_mm * report::points_per_mm,
        std::min(report::chart_figure_height(figure), 1990 * report::points_per_mm)};
    report::DocumentInfo const info{figure.title,
                                    report::chart_description(figure),
                                    one.table.start ? date_of(*one.table.start) : Date{}};
    GW_TRY(auto const bytes, report::render(format, size, info, [&](report::Canvas& canvas) {
               canvas.fill(report::Box{0, 0, size.width, size.height}, {1, 1, 1});
               report::draw_charts(
                   canvas, {edge, edge, size.width - 2 * edge, size.height - 2 * edge}, figure);
           }));
    return write_file(path, bytes);
}

}  // namespace

Result<ChartAnswer> chart(ChartRequest const& request) {
    if (request.output && request.series.size() != 1)
        return fail(Errc::bad_input,
                    "A figure holds one series.",
                    "--output",
                    "give one series, or leave the figure out");
    ChartAnswer out;
    std::vector<visit::ChartPassport> passport;
    if (request.passport) {
        GW_TRY(auto const bytes, read_file(*request.passport));
        GW_TRY(auto const document, parse_json(bytes, *request.passport));
        GW_TRY(passport, visit::read_chart_passport(document.root()));
    }
    for (auto const& path : request.series) {
        GW_TRY(auto const bytes, read_file(path));
        GW_TRY(auto table, trace::read_series(bytes, path));
        auto options = request.options;
        options.passport = passport;
        for (auto const& text : request.breaks) {
            GW_TRY(double const at, seconds_of(text, table));
            options.breaks.push_back(at);
        }
        GW_TRY(auto charts, visit::charts(table, options));
        out.series.push_back({path, std::move(table), std::move(charts)});
    }
    if (request.output) {
        GW_CHECK(draw(out.series.front(), *request.output));
        out.drawn = request.output;
    }
    return out;
}

Json chart_json(ChartAnswer const& answer, ChartRequest const& request) {
    auto const one = [&](ChartedSeries const& s) {
        auto json = visit::charts_json(s.charts, s.table, request.options);
        json["source"] = s.source;
        return json;
    };
    Json out;
    if (answer.series.size() == 1) {
        out = one(answer.series.front());
    } else {
        out["series"] = Json::array();
        for (auto const& s : answer.series) out["series"].push_back(one(s));
    }
    if (answer.drawn) out["output"] = *answer.drawn;
    return out;
}

std::string chart_text(ChartAnswer const& answer) {
    std::string out;
    for (auto const& s : answer.series)
        out += fmt::format("{}\n{}\n", s.source, visit::charts_text(s.charts, s.table));
    if (answer.drawn) out += *answer.drawn + " drawn\n";
    return out;
}

}  // namespace gw::desk
