#include "desk/trace_draw.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "base/file.hpp"
#include "base/hash.hpp"
#include "base/text.hpp"
#include "desk/load.hpp"
#include "report/output.hpp"

namespace gw::desk {

namespace {

Result<> check_side(double mm, char const* option) {
    if (mm >= 20 && mm <= 2000) return {};
    return fail(Errc::bad_input,
                fmt::format("A picture of {} mm cannot be drawn.", shortest(mm)),
                option,
                "give 20 to 2000 mm");
}

Result<> check_window(TraceDrawRequest const& request, trace::Trace const& trace) {
    double const from = request.from_s.value_or(trace.start_s),
                 to = request.to_s.value_or(trace.end_s());
    auto const run = fmt::format(
        "the run goes from {} to {} s", shortest(trace.start_s), fixed(trace.end_s(), 3));
    if (!(to > from))
        return fail(
            Errc::bad_input,
            fmt::format("From {} s to {} s there is no time.", shortest(from), shortest(to)),
            request.to_s ? "--to" : "--from",
            run);
    if (from >= trace.end_s() || to <= trace.start_s ||
        std::min(to, trace.end_s()) - std::max(from, trace.start_s) < 2 * trace.interval_s)
        return fail(
            Errc::bad_input,
            fmt::format(
                "From {} s to {} s there is nothing to draw.", shortest(from), shortest(to)),
            request.from_s ? "--from" : "--to",
            run);
    return {};
}

}  // namespace

report::TraceFigure trace_figure(trace::Trace trace,
                                 assay::Method const* method,
                                 std::optional<int> detector) {
    report::TraceFigure figure;
    std::vector<assay::NamedPeak> named;
    if (method != nullptr) {
        figure.events = method->valve_programme;
        named = assay::run_areas(trace, *method).peaks;
    }
    auto const options = method != nullptr ? assay::peak_options(*method) : trace::PeakOptions{};
    for (int d = 1; d <= static_cast<int>(trace.signals.size()); ++d) {
        if (detector && *detector != d) continue;
        auto const found = trace::find_peaks(trace, d, options);
        report::DetectorView view;
        view.detector = d;
        view.baseline = found.baseline;
        // A kick at a valve event that the method names is drawn once, as that event.
        for (auto const& kick : found.kicks)
            if (std::none_of(figure.events.begin(), figure.events.end(), [&](auto const& event) {
                    return std::abs(event.at_s - kick.at_s) < 2;
                }))
                view.kicks.push_back(kick);
        if (method != nullptr) {
            for (auto const& peak : named)
                if (peak.peak.detector == d) view.peaks.push_back(peak);
        } else {
            for (auto const& peak : found.peaks) view.peaks.push_back({peak, std::nullopt});
        }
        figure.detectors.push_back(std::move(view));
    }
    figure.title = std::filesystem::path(trace.source).filename().string();
    if (trace.start) figure.subtitle = to_text(*trace.start);
    figure.trace = std::move(trace);
    return figure;
}

Result<TraceDrawing> trace_draw(TraceDrawRequest const& request) {
    GW_TRY(auto const format, report::format_of(request.output, "--output"));
    GW_CHECK(check_side(request.width_mm, "--width-mm"));
    if (request.height_mm != 0) {
        GW_CHECK(check_side(request.height_mm, "--height-mm"));
    }
    std::optional<assay::Method> method;
    if (request.method) {
        GW_TRY(method, load_method(*request.method));
    }
    GW_TRY(auto run, load_run(request.trace, request.rate_hz));
    auto* trace = std::get_if<trace::Trace>(&run);
    if (trace == nullptr)
        return fail(Errc::bad_input,
                    "This is a printed report; it has no signal to draw.",
                    request.trace,
                    "give the detector's trace");
    auto const detectors = static_cast<int>(trace->signals.size());
    if (request.detector && (*request.detector < 1 || *request.detector > detectors))
        return fail(Errc::bad_input,
                    fmt::format("The trace has no detector {}.", *request.detector),
                    "--detector",
                    fmt::format("it has {}", detectors));
    GW_CHECK(check_window(request, *trace));

    TraceDrawing out;
    out.warnings = trace->warnings;
    auto const day = trace->start ? date_of(*trace->start) : Date{};
    auto figure = trace_figure(std::move(*trace), method ? &*method : nullptr, request.detector);
    figure.from_s = request.from_s;
    figure.to_s = request.to_s;
    out.detectors = figure.detectors.size();
    for (auto const& view : figure.detectors) out.peaks += view.peaks.size();

    double const height_mm =
        request.height_mm != 0
            ? request.height_mm
            : std::min(30 + 75 * static_cast<double>(std::max<std::size_t>(out.detectors, 1)),
                       2000.0);
    report::Size const size{request.width_mm * report::points_per_mm,
                            height_mm * report::points_per_mm};
    report::DocumentInfo const info{figure.title, report::trace_description(figure), day};
    GW_TRY(auto const bytes, report::render(format, size, info, [&](report::Canvas& canvas) {
               double const edge = 10;
               canvas.fill(report::Box{0, 0, size.width, size.height}, {1, 1, 1});
               report::draw_trace(
                   canvas, {edge, edge, size.width - 2 * edge, size.height - 2 * edge}, figure);
           }));
    GW_CHECK(write_file(request.output, bytes));
    out.output = request.output;
    out.sha256 = sha256(bytes);
    out.bytes = bytes.size();
    return out;
}

Json trace_draw_json(TraceDrawing const& drawing) {
    return Json{{"output", drawing.output},
                {"bytes", drawing.bytes},
                {"sha256", drawing.sha256},
                {"detectors", drawing.detectors},
                {"peaks", drawing.peaks},
                {"warnings", drawing.warnings}};
}

std::string trace_draw_text(TraceDrawing const& drawing) {
    return fmt::format("{}: {} peaks of {} detector{} drawn, {} kB\n",
                       drawing.output,
                       drawing.peaks,
                       drawing.detectors,
                       drawing.detectors == 1 ? "" : "s",
                       (drawing.bytes + 999) / 1000);
}

}  // namespace gw::desk
