#include "desk/trace_peaks.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "base/text.hpp"
#include "desk/load.hpp"

namespace gw::desk {

Result<TracePeaks> trace_peaks(TracePeaksRequest const& request) {
    TracePeaks out;
    std::optional<assay::Method> method;
    if (request.method) {
        GW_TRY(method, load_method(*request.method));
    }
    GW_TRY(auto const run, load_run(request.trace, request.rate_hz));
    auto const* trace = std::get_if<trace::Trace>(&run);
    if (trace == nullptr)
        return fail(Errc::bad_input,
                    "This is a printed report; it has no signal to find peaks in.",
                    request.trace,
                    "give the detector's trace, or use gaswright look for a report");
    out.unit = trace->unit;
    out.samples = trace->samples();
    out.duration_s = static_cast<double>(out.samples) * trace->interval_s;
    if (method) {
        out.run = assay::run_areas(*trace, *method);
        return out;
    }
    out.run.source = trace->source;
    out.run.hash = trace->hash;
    out.run.warnings = trace->warnings;
    for (int detector = 1; detector <= static_cast<int>(trace->signals.size()); ++detector) {
        auto const found = trace::find_peaks(*trace, detector);
        out.run.noise.push_back(found.noise);
        for (auto const& peak : found.peaks) out.run.peaks.push_back({peak, std::nullopt});
    }
    return out;
}

Json peak_json(assay::NamedPeak const& named) {
    auto const& p = named.peak;
    return Json{{"component",
                 named.component ? Json(std::string(gas::name(*named.component))) : Json(nullptr)},
                {"start_s", p.start_s},
                {"apex_s", p.apex_s},
                {"end_s", p.end_s},
                {"area", p.area},
                {"area_u", p.area_u},
                {"height", p.height},
                {"width_half_s", p.width_half_s},
                {"asymmetry", p.asymmetry},
                {"resolution_next", p.resolution_next ? Json(*p.resolution_next) : Json(nullptr)},
                {"flags", p.flags.names()},
                {"detector", p.detector},
                {"baseline", std::string(trace::name(p.baseline))}};
}

Json trace_peaks_json(TracePeaks const& peaks) {
    Json noise = Json::array(), list = Json::array();
    for (auto const& n : peaks.run.noise)
        noise.push_back(Json{{"rms", n.rms}, {"drift_per_s", n.drift_per_s}});
    for (auto const& p : peaks.run.peaks) list.push_back(peak_json(p));
    return Json{{"noise", noise.empty() ? Json(nullptr) : noise[0]},
                {"peaks", list},
                {"warnings", peaks.run.warnings},
                {"unit", peaks.unit},
                {"noise_by_detector", noise},
                {"trace_hash", peaks.run.hash}};
}

std::string peaks_table(std::vector<assay::NamedPeak> const& peaks, std::string const& unit) {
    std::string out =
        fmt::format("{:<20} {:>3} {:>9} {:>9} {:>9} {:>13} {:>9} {:>11} {:>7} {:>6} {:>6}  {}\n",
                    "component",
                    "det",
                    "start s",
                    "apex s",
                    "end s",
                    "area " + unit + " s",
                    "u",
                    "height " + unit,
                    "wh s",
                    "asym",
                    "Rs",
                    "flags");
    for (auto const& named : peaks) {
        auto const& p = named.peak;
        out += fmt::format(
            "{:<20} {:>3} {:>9} {:>9} {:>9} {:>13.6g} {:>9.2g} {:>11.5g} {:>7} {:>6} {:>6}  {}\n",
            named.component ? gas::name(*named.component) : "-",
            p.detector,
            fixed(p.start_s, 2),
            fixed(p.apex_s, 3),
            fixed(p.end_s, 2),
            p.area,
            p.area_u,
            p.height,
            fixed(p.width_half_s, 2),
            fixed(p.asymmetry, 2),
            p.resolution_next ? fixed(*p.resolution_next, 2) : "",
            joined(p.flags.names(), " "));
    }
    return out;
}

std::string trace_peaks_text(TracePeaks const& peaks) {
    std::string out = fmt::format(
        "{}: {} samples over {} s\n", peaks.run.source, peaks.samples, fixed(peaks.duration_s, 2));
    for (std::size_t d = 0; d < peaks.run.noise.size(); ++d)
        out += fmt::format("detector {}: noise {:.3g} {}, drift {:.3g} {}/s\n",
                           d + 1,
                           peaks.run.noise[d].rms,
                           peaks.unit,
                           peaks.run.noise[d].drift_per_s,
                           peaks.unit);
    if (peaks.run.peaks.empty()) return out + "\nNo peak stands out of the noise.\n";
    return out + "\n" + peaks_table(peaks.run.peaks, peaks.unit);
}

}  // namespace gw::desk
