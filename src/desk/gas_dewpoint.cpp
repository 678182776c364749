#include "desk/gas_dewpoint.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "base/text.hpp"
#include "desk/gas_file.hpp"
#include "gas/throttling.hpp"

namespace gw::desk {

namespace {

constexpr double usual_start = 10e3;  // Pa

Json point_json(std::optional<gas::PhasePoint> const& point) {
    if (!point) return nullptr;
    return Json{{"temperature_k", point->T}, {"pressure_kpa", point->p / 1e3}};
}

constexpr double acid_gas_limit = 0.1;  // mol/mol; common practice, no source

// The way of equal enthalpy through the regulator, held against the dew line at each pressure.
Result<Margins::Regulator> regulator(gas::Composition const& gas,
                                     gas::PhaseEnvelope const& line,
                                     GasDewpointOptions const& options) {
    GW_TRY(auto const ready, gas::prepared(gas, gas::WideRangeEquation::gerg2008));
    GW_TRY(auto const way,
           gas::throttled(ready, *options.gas_temperature, *options.pressure, *options.outlet));
    Margins::Regulator out{way.back().T, way.front().T.si - way.back().T.si, std::nullopt, {}};
    for (auto const& at : way) {
        auto const dew = line.dew_temperatures(at.p.si);
        if (dew.empty()) continue;
        double const above = at.T.si - dew.front();
        if (out.smallest && *out.smallest <= above) continue;
        out.smallest = above;
        out.smallest_at = at.p;
    }
    return out;
}

Result<> add_margins(GasDewpoint& out,
                     gas::Composition const& gas,
                     gas::PhaseEnvelope const& line) {
    auto const& asked = out.asked;
    auto& margins = out.margins;
    margins.highest = line.highest_dew_point(asked.pressure->si);
    if (margins.highest) {
        margins.lowest_storage = kelvin(margins.highest->T + asked.storage_margin);
        if (asked.gas_temperature) {
            margins.line = asked.gas_temperature->si - margins.highest->T;
            if (*margins.line < 0)
                out.warnings.emplace_back(
                    "At this temperature the gas condenses at the pressure "
                    "asked for or on its way down.");
            else if (*margins.line < asked.line_margin)
                out.warnings.push_back(
                    fmt::format("The gas is only {:.1f} K above its highest dew point; a sample "
                                "line is kept {:.1f} K above (API MPMS 14.1).",
                                *margins.line,
                                asked.line_margin));
        }
    }
    if (asked.outlet) {
        GW_TRY(margins.regulator, regulator(gas, line, asked));
        if (margins.regulator->smallest && *margins.regulator->smallest < 0)
            out.warnings.push_back(fmt::format(
                "In the regulator the gas falls {:.1f} K below its dew point, at {:.4g} kPa: it "
                "condenses, and the outlet temperature is that of one even fluid.",
                -*margins.regulator->smallest,
                margins.regulator->smallest_at.si / 1e3));
    }
    return {};
}

Result<> add_water(GasDewpoint& out, gas::Composition const& gas) {
    static auto const water = *gas::find_component("water");
    static auto const carbon_dioxide = *gas::find_component("carbon dioxide");
    static auto const hydrogen_sulfide = *gas::find_component("hydrogen sulfide");
    double const total = gas.total(), wet = gas.fraction(water) / total;
    if (wet <= 0) return {};
    auto const dew = gas::water_dew_point(wet, *out.asked.pressure);
    if (!dew) {
        out.warnings.push_back("No water dew point: " + dew.error().what);
        return {};
    }
    out.water = *dew;
    if (dew->range == gas::WaterRange::extended)
        out.warnings.emplace_back(
            "The water dew point is below the published 15.6 degC of its correlation: it is that "
            "of supercooled water, and ice or hydrate may form sooner.");
    else if (dew->range == gas::WaterRange::outside)
        out.warnings.emplace_back(
            "The water dew point is outside the range of its correlation: nobody vouches for it.");
    if ((gas.fraction(carbon_dioxide) + gas.fraction(hydrogen_sulfide)) / total > acid_gas_limit)
        out.warnings.emplace_back(
            "The correlation of the water dew point is for sweet gas; this one holds more than "
            "10 mol% of acid gases.");
    if (out.asked.gas_temperature && out.asked.gas_temperature->si < dew->T.si)
        out.warnings.emplace_back("At this temperature water condenses from the gas.");
    return {};
}

Result<> require_sense(GasDewpointOptions const& options) {
    if (options.gas_temperature &&
        !(options.gas_temperature->si > 0 && std::isfinite(options.gas_temperature->si)))
        return fail(
            Errc::bad_input,
            fmt::format("{:.6g} degC is no temperature.", in_celsius(*options.gas_temperature)),
            "--gas-c",
            "give a temperature above absolute zero");
    if (options.gas_temperature && !options.pressure)
        return fail(Errc::bad_input,
                    "A gas temperature means something only with a pressure.",
                    "--gas-c",
                    "give --pressure-kpa P too");
    if (options.outlet && !options.gas_temperature)
        return fail(Errc::bad_input,
                    "The regulator's inlet temperature is not given.",
                    "--outlet-kpa",
                    "give --gas-c T and --pressure-kpa P of its inlet");
    if (options.outlet && !(options.outlet->si > 0 && options.outlet->si < options.pressure->si))
        return fail(Errc::bad_input,
                    fmt::format("A regulator cannot lead from {} to {} kPa.",
                                shortest(options.pressure->si / 1e3),
                                shortest(options.outlet->si / 1e3)),
                    "--outlet-kpa",
                    "give an outlet pressure above zero and below the inlet pressure");
    return {};
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
    GW_CHECK(require_sense(options));
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
    if (out.end == gas::EnvelopeEnd::three_phases)
        out.warnings.emplace_back(
            "Cold, this gas drops two liquids: there the dew line ends, without a critical point "
            "or beyond it.");
    if (out.end == gas::EnvelopeEnd::open && !out.cricondenbar)
        out.warnings.emplace_back(
            "The phase envelope leaves through 100 MPa: this gas has no cricondenbar below.");
    if (options.pressure && out.dew_temperatures.empty())
        out.warnings.push_back(fmt::format("The gas has no dew point at {} kPa.",
                                           shortest(options.pressure->si / 1e3)));
    if (options.pressure) {
        auto const done = add_margins(out, file.gas, *line);
        if (!done) return pass_on(placed_in(file, done.error()));
        GW_CHECK(add_water(out, file.gas));
    }
    return out;
}

namespace {

Json margins_json(GasDewpoint const& dewpoint) {
    auto const& margins = dewpoint.margins;
    auto const& asked = dewpoint.asked;
    auto const optional = [](std::optional<double> const& x) {
        return x ? Json(*x) : Json(nullptr);
    };
    Json out{{"highest_dew_point", point_json(margins.highest)},
             {"lowest_storage_temperature_k",
              margins.lowest_storage ? Json(margins.lowest_storage->si) : Json(nullptr)},
             {"storage_margin_k", asked.storage_margin}};
    if (asked.gas_temperature) {
        out["gas_temperature_k"] = asked.gas_temperature->si;
        out["gas_above_dew_point_k"] = optional(margins.line);
        out["line_margin_k"] = asked.line_margin;
    }
    if (margins.regulator) {
        auto const& r = *margins.regulator;
        out["regulator"] = {
            {"outlet_pressure_kpa", asked.outlet->si / 1e3},
            {"outlet_temperature_k", r.outlet.si},
            {"cooling_k", r.cooling},
            {"smallest_margin_k", optional(r.smallest)},
            {"smallest_margin_at_kpa", r.smallest ? Json(r.smallest_at.si / 1e3) : Json(nullptr)}};
    }
    if (auto const& water = dewpoint.water) {
        out["water"] = {{"dew_temperature_k", water->T.si}, {"range", gas::name(water->range)}};
        if (asked.gas_temperature)
            out["water"]["gas_above_dew_point_k"] = asked.gas_temperature->si - water->T.si;
    }
    return out;
}

std::string margins_text(GasDewpoint const& dewpoint) {
    auto const& margins = dewpoint.margins;
    auto const& asked = dewpoint.asked;
    std::string out;
    auto const line = [&](std::string const& title, double value, char const* unit) {
        out += fmt::format("{:<44}{:>10} {}\n", title, fixed(value, 1), unit);
    };
    if (margins.lowest_storage)
        line(
            fmt::format("lowest safe storage, {:.0f} K above its dew points", asked.storage_margin),
            in_celsius(*margins.lowest_storage),
            "degC");
    if (margins.line) line("gas above its highest dew point", *margins.line, "K");
    if (auto const& r = margins.regulator) {
        line(fmt::format("regulator outlet at {:.4g} kPa", asked.outlet->si / 1e3),
             in_celsius(r->outlet),
             "degC");
        line("  colder than the inlet by", r->cooling, "K");
        if (r->smallest)
            line(fmt::format("  least above the dew point, at {:.4g} kPa", r->smallest_at.si / 1e3),
                 *r->smallest,
                 "K");
    }
    if (auto const& water = dewpoint.water) {
        line("water dew point", in_celsius(water->T), "degC");
        if (asked.gas_temperature)
            line("  gas above it by", asked.gas_temperature->si - water->T.si, "K");
    }
    return out;
}

}  // namespace

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
    if (dewpoint.asked.pressure) out["margins"] = margins_json(dewpoint);
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
    if (auto const more = margins_text(dewpoint); !more.empty()) out += "\n" + more;
    if (dewpoint.asked.envelope) {
        out += "\n";
        for (auto const& point : dewpoint.points)
            row(point.dew ? "dew" : "bubble", point.at.T, point.at.p);
    }
    return out;
}

}  // namespace gw::desk
