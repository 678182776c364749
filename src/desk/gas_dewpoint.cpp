#include "desk/gas_dewpoint.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "base/text.hpp"
#include "desk/gas_file.hpp"

namespace gw::desk {

namespace {

constexpr double usual_start = 10e3;  // Pa

Json point_json(std::optional<gas::PhasePoint> const& point) {
    if (!point) return nullptr;
    return Json{{"temperature_k", point->T}, {"pressure_kpa", point->p / 1e3}};
}

}  // namespace

Result<GasDewpoint> gas_dewpoint(std::string const& path, GasDewpointOptions const& options) {
    gas::EnvelopeOptions trace;
    if (options.pressure) {
        double const p = options.pressure->si;
        if (!(p >= 10 && p <= 1e8))
            return fail(Errc::bad_input,
                        fmt::format("{} kPa is no pressure for a dew point.", shortest(p / 1e3)),
                        "--pressure-kpa",
                        "give an absolute pressure from 0.01 to 100000 kPa");
        trace.start_p = std::min(usual_start, 0.5 * p);
    }
    GW_TRY(auto const file, read_gas_file(path, options.normalise));
    GasDewpoint out;
    out.asked = options;
    out.split = file.split;
    out.warnings = file.warnings;
    auto const ready = gas::cubic_gas(file.gas, options.equation);
    if (!ready) return pass_on(placed_in(file, ready.error()));
    out.warnings.insert(out.warnings.end(), ready->warnings.begin(), ready->warnings.end());
    auto const line = gas::phase_envelope(ready->mixture, ready->z, trace);
    if (!line) return pass_on(placed_in(file, line.error()));
    if (options.pressure) out.dew_temperatures = line->dew_temperatures(options.pressure->si);
    out.cricondentherm = line->cricondentherm();
    out.cricondenbar = line->cricondenbar();
    out.critical = line->critical();
    out.points = line->points();
    out.end = line->end();
    if (out.end == gas::EnvelopeEnd::lost)
        out.warnings.emplace_back(
            "The phase envelope could not be followed to its end: what lies beyond the last point "
            "is not known.");
    if (out.end == gas::EnvelopeEnd::open && !out.cricondenbar)
        out.warnings.emplace_back(
            "The phase envelope leaves through 100 MPa: this gas has no cricondenbar below.");
    if (options.pressure && out.dew_temperatures.empty())
        out.warnings.push_back(fmt::format("The gas has no dew point at {} kPa.",
                                           shortest(options.pressure->si / 1e3)));
    return out;
}

Json gas_dewpoint_json(GasDewpoint const& dewpoint) {
    Json out{{"eos", gas::name(dewpoint.asked.equation)},
             {"pressure_kpa",
              dewpoint.asked.pressure ? Json(dewpoint.asked.pressure->si / 1e3) : Json(nullptr)},
             {"dew_temperatures_k", dewpoint.dew_temperatures},
             {"cricondentherm", point_json(dewpoint.cricondentherm)},
             {"cricondenbar", point_json(dewpoint.cricondenbar)},
             {"critical", point_json(dewpoint.critical)},
             {"c6_plus_split", dewpoint.split.empty() ? Json(nullptr) : Json(dewpoint.split)},
             {"envelope_end", gas::name(dewpoint.end)}};
    if (dewpoint.asked.envelope) {
        auto points = Json::array();
        for (auto const& point : dewpoint.points)
            points.push_back(Json{{"temperature_k", point.at.T},
                                  {"pressure_kpa", point.at.p / 1e3},
                                  {"branch", point.dew ? "dew" : "bubble"}});
        out["envelope"] = std::move(points);
    }
    out["warnings"] = dewpoint.warnings;
    return out;
}

std::string gas_dewpoint_text(GasDewpoint const& dewpoint) {
    std::string out = fmt::format("Hydrocarbon dew point by the {} equation",
                                  dewpoint.asked.equation == gas::CubicEquation::peng_robinson
                                      ? "Peng-Robinson"
                                      : "Soave-Redlich-Kwong");
    if (!dewpoint.split.empty()) out += fmt::format("; C6+ split {}", dewpoint.split);
    out += "\n\n";
    auto const row = [&](std::string const& title, double T, double p) {
        out += fmt::format("{:<24}{:>10} degC{:>14} kPa\n",
                           title,
                           fixed(in_celsius(kelvin(T)), 2),
                           fixed(p / 1e3, 1));
    };
    for (double const T : dewpoint.dew_temperatures)
        row("dew point", T, dewpoint.asked.pressure->si);
    if (dewpoint.cricondentherm)
        row("cricondentherm", dewpoint.cricondentherm->T, dewpoint.cricondentherm->p);
    if (dewpoint.cricondenbar)
        row("cricondenbar", dewpoint.cricondenbar->T, dewpoint.cricondenbar->p);
    if (dewpoint.critical) row("critical point", dewpoint.critical->T, dewpoint.critical->p);
    if (dewpoint.asked.envelope) {
        out += "\n";
        for (auto const& point : dewpoint.points)
            row(point.dew ? "dew" : "bubble", point.at.T, point.at.p);
    }
    return out;
}

}  // namespace gw::desk
