#include "desk/run_drawing.hpp"

#include <cmath>
#include <nlohmann/json.hpp>

#include "assay/run.hpp"
#include "desk/trace_peaks.hpp"
#include "trace/thinning.hpp"

namespace gw::desk {

namespace {

constexpr std::size_t drawn_points = 4000;  // two for every pixel of a wide screen

// Four digits below the noise are no news and would double the size of the answer.
double shortened(double value) { return std::round(value * 1e5) / 1e5; }

Json drawn_detector(trace::Trace const& trace,
                    trace::DetectorPeaks const& found,
                    std::vector<assay::NamedPeak> const& peaks,
                    int detector) {
    auto const& signal = trace.signals[static_cast<std::size_t>(detector) - 1];
    Json time = Json::array(), drawn = Json::array(), baseline = Json::array(),
         list = Json::array();
    for (auto const i : trace::thinned(signal, drawn_points)) {
        time.push_back(shortened(trace.time(i)));
        drawn.push_back(shortened(static_cast<double>(signal[i])));
        baseline.push_back(shortened(static_cast<double>(found.baseline[i])));
    }
    for (auto const& named : peaks)
        if (named.peak.detector == detector) list.push_back(peak_json(named));
    return Json{{"detector", detector},
                {"samples", signal.size()},
                {"time_s", std::move(time)},
                {"signal", std::move(drawn)},
                {"baseline", std::move(baseline)},
                {"noise_rms", found.noise.rms},
                {"peaks", std::move(list)}};
}

}  // namespace

Json drawn_run(trace::Trace const& trace, std::optional<assay::Method> const& method) {
    Json events = Json::array(), detectors = Json::array(), warnings = trace.warnings;
    std::vector<assay::NamedPeak> named;
    if (method) {
        auto const areas = assay::run_areas(trace, *method);
        warnings = areas.warnings;
        named = areas.peaks;
        for (auto const& event : method->valve_programme)
            events.push_back(Json{{"at_s", event.at_s}, {"action", event.action}});
    }
    for (int d = 1; d <= static_cast<int>(trace.signals.size()); ++d) {
        auto const found = method ? trace::find_peaks(trace, d, assay::peak_options(*method))
                                  : trace::find_peaks(trace, d);
        if (!method)
            for (auto const& peak : found.peaks) named.push_back({peak, std::nullopt});
        detectors.push_back(drawn_detector(trace, found, named, d));
    }
    return Json{
        {"unit", trace.unit},
        {"cycle_s",
         method ? method->cycle_s : static_cast<double>(trace.samples()) * trace.interval_s},
        {"events", std::move(events)},
        {"detectors", std::move(detectors)},
        {"warnings", std::move(warnings)},
        {"trace_hash", trace.hash}};
}

Json drawn_run(Run const& run, std::optional<assay::Method> const& method) {
    if (auto const* trace = std::get_if<trace::Trace>(&run)) return drawn_run(*trace, method);
    auto const& report = std::get<trace::ReportTable>(run);
    return Json{{"unit", ""},
                {"cycle_s", 0.0},
                {"events", Json::array()},
                {"detectors", Json::array()},
                {"warnings", Json::array()},
                {"trace_hash", report.hash}};
}

}  // namespace gw::desk
