#include "desk/trace_view.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <nlohmann/json.hpp>

#include "base/base.hpp"
#include "desk/load.hpp"
#include "desk/trace_draw.hpp"
#include "report/output.hpp"
#include "trace/thinning.hpp"

namespace gw::desk {

std::size_t TraceView::bytes() const {
    std::size_t const each = sizeof(float) * trace.samples();
    return 2 * each * trace.signals.size() + 4096;
}

namespace {

TraceView view_of(trace::Trace trace, std::optional<assay::Method> method) {
    TraceView out;
    out.trace = std::move(trace);
    out.method = std::move(method);
    auto& peaks = out.peaks;
    peaks.unit = out.trace.unit;
    peaks.samples = out.trace.samples();
    peaks.duration_s = static_cast<double>(peaks.samples) * out.trace.interval_s;
    if (out.method) {
        out.events = out.method->valve_programme;
        out.found.resize(out.trace.signals.size());
        peaks.run = assay::run_areas(
            out.trace,
            *out.method,
            [&](trace::Trace const& t, int detector, trace::PeakOptions const& options) {
                auto found = trace::find_peaks(t, detector, options);
                out.found[static_cast<std::size_t>(detector) - 1] = found;
                return found;
            });
        return out;
    }
    peaks.run.source = out.trace.source;
    peaks.run.hash = out.trace.hash;
    peaks.run.warnings = out.trace.warnings;
    for (int detector = 1; detector <= static_cast<int>(out.trace.signals.size()); ++detector) {
        out.found.push_back(trace::find_peaks(out.trace, detector));
        auto const& found = out.found.back();
        peaks.run.noise.push_back(found.noise);
        peaks.run.steps.insert(peaks.run.steps.end(), found.steps.begin(), found.steps.end());
        for (auto const& peak : found.peaks) peaks.run.peaks.push_back({peak, std::nullopt});
        for (auto const& kick : found.kicks) out.events.push_back(kick);
    }
    return out;
}

}  // namespace

Result<TraceView> trace_view(std::string_view bytes,
                             std::string const& name,
                             std::optional<double> rate_hz,
                             std::string const& method_text) {
    std::optional<assay::Method> method;
    if (!method_text.empty()) {
        GW_TRY(method, method_of(method_text, "method"));
    }
    GW_TRY(auto run, run_of(bytes, name, rate_hz));
    auto* trace = std::get_if<trace::Trace>(&run);
    if (trace == nullptr)
        return fail(Errc::bad_input,
                    "This is a printed report; it has no signal to look at.",
                    name,
                    "give the detector's trace, or look at the report");
    if (trace->hash.empty()) trace->hash = sha256(bytes);
    return view_of(std::move(*trace), std::move(method));
}

Result<TraceView> trace_view_under(TraceView const& view, std::string const& method) {
    GW_TRY(auto read, method_of(method, "method"));
    return view_of(view.trace, std::move(read));
}

Result<std::string> trace_picture(TraceView const& view, std::string const& format) {
    GW_TRY(auto const form, report::format_of("picture." + format, "format"));
    auto const figure = trace_figure(view.trace, view.method ? &*view.method : nullptr);
    constexpr double edge = 10, width_mm = 240, detector_mm = 75;
    report::Size const size{
        width_mm * report::points_per_mm,
        (30 + detector_mm * static_cast<double>(figure.detectors.size())) * report::points_per_mm};
    auto const day = view.trace.start ? date_of(*view.trace.start) : Date{};
    return report::render(
        form,
        size,
        {figure.title, report::trace_description(figure), day},
        [&](report::Canvas& canvas) {
            canvas.fill(report::Box{0, 0, size.width, size.height}, {1, 1, 1});
            report::draw_trace(
                canvas, {edge, edge, size.width - 2 * edge, size.height - 2 * edge}, figure);
        });
}

Json trace_view_json(TraceView const& view) {
    auto out = trace_peaks_json(view.peaks);
    for (auto const* name : {"noise", "definitions", "events"}) out.erase(name);
    auto const& t = view.trace;
    Json detectors = Json::array(), events = Json::array(), steps = Json::array();
    for (std::size_t d = 0; d < t.signals.size(); ++d) {
        auto const [low, high] = std::minmax_element(t.signals[d].begin(), t.signals[d].end());
        detectors.push_back({{"detector", d + 1},
                             {"lowest", static_cast<double>(*low)},
                             {"highest", static_cast<double>(*high)},
                             {"noise_rms", view.found[d].noise.rms},
                             {"drift_per_s", view.found[d].noise.drift_per_s}});
    }
    for (auto const& e : view.events) events.push_back({{"at_s", e.at_s}, {"action", e.action}});
    out.erase("noise_by_detector");
    out["id"] = t.hash;
    out["name"] = t.source;
    out["start"] = t.start ? Json(to_text(*t.start)) : Json(nullptr);
    out["start_s"] = t.start_s;
    out["end_s"] = t.end_s();
    out["interval_s"] = t.interval_s;
    out["samples"] = t.samples();
    out["detectors"] = std::move(detectors);
    out["events"] = std::move(events);
    out["method"] = view.method ? Json(view.method->name) : Json(nullptr);
    Json header = Json::array();
    for (auto const& [key, value] : t.header) header.push_back({{"key", key}, {"value", value}});
    out["header"] = std::move(header);
    return out;
}

std::string number_block(std::vector<std::vector<double>> const& rows) {
    static_assert(std::endian::native == std::endian::little, "the block is little-endian");
    std::size_t const n = rows.empty() ? 0 : rows.front().size();
    std::string out(8 + 8 * n * rows.size(), '\0');
    auto const count = static_cast<std::uint32_t>(n);
    std::memcpy(out.data(), &count, sizeof count);
    std::size_t at = 8;
    for (auto const& row : rows) {
        if (n > 0) std::memcpy(out.data() + at, row.data(), 8 * n);
        at += 8 * n;
    }
    return out;
}

Result<std::string> stretch_bytes(TraceView const& view, Stretch const& stretch) {
    auto const& t = view.trace;
    if (stretch.detector < 1 || static_cast<std::size_t>(stretch.detector) > t.signals.size())
        return fail(Errc::not_found,
                    fmt::format("There is no detector {}.", stretch.detector),
                    "detector",
                    fmt::format("count from 1 to {}", t.signals.size()));
    if (!(stretch.to_s > stretch.from_s))
        return fail(Errc::bad_input, "This stretch has no length.", "to", "end it after its start");
    auto const d = static_cast<std::size_t>(stretch.detector) - 1;
    auto const index = [&](double time_s) {
        double const last = static_cast<double>(t.samples() - 1);
        return std::clamp((time_s - t.start_s) / t.interval_s, 0.0, last);
    };
    auto const first = static_cast<std::size_t>(std::floor(index(stretch.from_s)));
    auto const last = static_cast<std::size_t>(std::ceil(index(stretch.to_s)));
    auto const most = std::clamp<std::size_t>(stretch.most, 4, 20000);
    std::span<float const> const signal = t.signals[d];
    std::vector<std::vector<double>> rows(3);
    auto const& baseline = view.found[d].baseline;
    for (auto const k : trace::thinned(signal.subspan(first, last - first + 1), most)) {
        auto const i = first + k;
        rows[0].push_back(t.time(i));
        rows[1].push_back(static_cast<double>(signal[i]));
        rows[2].push_back(i < baseline.size() ? static_cast<double>(baseline[i])
                                              : static_cast<double>(signal[i]));
    }
    return number_block(rows);
}

namespace {

// What the program found there: the peak whose apex lies between the ends, the highest of several.
assay::NamedPeak const* found_there(TraceView const& view, HandRequest const& request) {
    assay::NamedPeak const* out = nullptr;
    for (auto const& named : view.peaks.run.peaks) {
        auto const& p = named.peak;
        if (p.detector != request.detector) continue;
        bool const same_name = !request.component.empty() && named.component &&
                               gas::name(*named.component) == request.component;
        if (same_name) return &named;
        if (p.apex_s < request.ends.start_s || p.apex_s > request.ends.end_s) continue;
        if (out == nullptr || std::abs(p.height) > std::abs(out->peak.height)) out = &named;
    }
    return out;
}

}  // namespace

Result<Json> hand_peak_json(TraceView const& view, HandRequest const& request) {
    if (request.detector < 1 || static_cast<std::size_t>(request.detector) > view.found.size())
        return fail(Errc::not_found,
                    fmt::format("There is no detector {}.", request.detector),
                    "detector",
                    fmt::format("count from 1 to {}", view.found.size()));
    GW_TRY(auto const hand,
           trace::hand_peak(view.trace,
                            request.detector,
                            request.ends,
                            view.found[static_cast<std::size_t>(request.detector) - 1]));
    auto const* own = found_there(view, request);
    auto const& p = hand.peak;
    return Json{
        {"component",
         own != nullptr && own->component ? Json(std::string(gas::name(*own->component)))
                                          : Json(nullptr)},
        {"detector", p.detector},
        {"start_s", p.start_s},
        {"end_s", p.end_s},
        {"base_start", hand.base_start},
        {"base_end", hand.base_end},
        {"apex_s", p.apex_s},
        {"area", p.area},
        {"area_u", p.area_u},
        {"height", p.height},
        {"width_half_s", p.width_half_s},
        {"asymmetry", p.asymmetry},
        {"area_found", own == nullptr ? Json(nullptr) : Json(own->peak.area)},
        {"change_percent",
         own == nullptr || own->peak.area == 0 ? Json(nullptr)
                                               : Json(100 * (p.area / own->peak.area - 1))}};
}

Result<Json> hand_decision(TraceView const& view,
                           HandRequest const& request,
                           std::string const& reason,
                           std::string const& who,
                           Instant at) {
    if (trimmed(reason).size() < 3)
        return fail(Errc::bad_input,
                    "A peak that was set by hand needs a reason.",
                    "reason",
                    "say what the program got wrong here");
    if (trimmed(who).empty())
        return fail(Errc::bad_input, "It is not said who decided this.", "by", "name the person");
    GW_TRY(auto const peak, hand_peak_json(view, request));
    return Json{{"schema", "gaswright.hand-peak/1"},
                {"trace_sha256", view.trace.hash},
                {"trace", view.trace.source},
                {"unit", view.trace.unit},
                {"by", std::string(trimmed(who))},
                {"at", to_text(at)},
                {"reason", std::string(trimmed(reason))},
                {"peak", peak}};
}

}  // namespace gw::desk
