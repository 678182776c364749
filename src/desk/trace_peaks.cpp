#include "desk/trace_peaks.hpp"

#include <fmt/format.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <optional>

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
        out.run.steps.insert(out.run.steps.end(), found.steps.begin(), found.steps.end());
        for (auto const& peak : found.peaks) out.run.peaks.push_back({peak, std::nullopt});
    }
    return out;
}

namespace {

// From the width at half height, as IUPAC defines the plate number; time counts from injection.
std::optional<double> plates(trace::Peak const& p) {
    if (!(p.apex_s > 0 && p.width_half_s > 0)) return std::nullopt;
    return 8 * std::log(2.0) * (p.apex_s / p.width_half_s) * (p.apex_s / p.width_half_s);
}

Json cut_json(trace::Peak const& p) {
    if (!p.cut) return nullptr;
    auto const number = [](std::optional<double> const& v) { return v ? Json(*v) : Json(nullptr); };
    return Json{{"side", p.cut->front ? "front" : "back"},
                {"at_s", p.cut->at_s},
                {"lost_percent", number(p.cut->lost_percent)},
                {"u", number(p.cut->u_percent)}};
}

}  // namespace

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
                {"tailing", p.tailing ? Json(*p.tailing) : Json(nullptr)},
                {"cut", cut_json(p)},
                {"name_confidence", named.confidence ? Json(*named.confidence) : Json(nullptr)},
                {"resolution_next", p.resolution_next ? Json(*p.resolution_next) : Json(nullptr)},
                {"flags", p.flags.names()},
                {"detector", p.detector},
                {"baseline", std::string(trace::name(p.baseline))}};
}

Json trace_peaks_json(TracePeaks const& peaks) {
    Json noise = Json::array(), list = Json::array();
    for (auto const& n : peaks.run.noise)
        noise.push_back(Json{{"rms", n.rms}, {"drift_per_s", n.drift_per_s}});
    for (auto const& p : peaks.run.peaks) {
        list.push_back(peak_json(p));
        auto const detector = static_cast<std::size_t>(p.peak.detector) - 1;
        double const rms = detector < peaks.run.noise.size() ? peaks.run.noise[detector].rms : 0;
        auto const n = plates(p.peak);
        list.back()["plates"] = n ? Json(*n) : Json(nullptr);
        list.back()["signal_to_noise"] = rms > 0 ? Json(p.peak.height / rms) : Json(nullptr);
    }
    Json steps = Json::array();
    for (auto const& s : peaks.run.steps)
        steps.push_back(Json{{"detector", s.detector},
                             {"at_s", s.at_s},
                             {"at_known_event", s.known},
                             {"kick_height", s.height},
                             {"baseline_step", s.step},
                             {"baseline_step_u", s.step_u}});
    return Json{{"noise", noise.empty() ? Json(nullptr) : noise[0]},
                {"peaks", list},
                {"warnings", peaks.run.warnings},
                {"unit", peaks.unit},
                {"noise_by_detector", noise},
                {"events", steps},
                {"definitions",
                 {{"signal_to_noise", "height over the rms of the peak-free signal"},
                  {"asymmetry", "back over front half width at 10 % of the height"},
                  {"tailing", "width at 5 % of the height over twice the front half width there"},
                  {"cut",
                   "lost_percent: share of the whole peak beyond at_s, by a modified Gaussian "
                   "through what is left; u: its standard uncertainty, percent of the peak"},
                  {"plates", "8 ln 2 (apex / width at half height)^2, IUPAC 1993"},
                  {"resolution_next", "1.18 (t2 - t1) / (wh1 + wh2), IUPAC 1993"},
                  {"baseline_step", "level after the event less level before it"}}},
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
    for (auto const& s : peaks.run.steps)
        if (std::abs(s.step) > 2 * s.step_u)
            out += fmt::format("detector {}: the baseline steps by {:.3g} {} at {} s\n",
                               s.detector,
                               s.step,
                               peaks.unit,
                               fixed(s.at_s, 2));
    for (auto const& named : peaks.run.peaks) {
        auto const& p = named.peak;
        if (!p.cut) continue;
        out += fmt::format("detector {}: the peak at {} s loses its {} at {} s: ",
                           p.detector,
                           fixed(p.apex_s, 2),
                           p.cut->front ? "front" : "back",
                           fixed(p.cut->at_s, 2));
        out += p.cut->lost_percent ? fmt::format("about {:.2g} % of it (u {:.1g} %)\n",
                                                 *p.cut->lost_percent,
                                                 *p.cut->u_percent)
                                   : "how much cannot be told from what is left\n";
    }
    if (peaks.run.peaks.empty()) return out + "\nNo peak stands out of the noise.\n";
    return out + "\n" + peaks_table(peaks.run.peaks, peaks.unit);
}

}  // namespace gw::desk
