#include "desk/assay.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "base/file.hpp"
#include "base/parallel.hpp"
#include "base/text.hpp"
#include "desk/load.hpp"
#include "desk/trace_peaks.hpp"

namespace gw::desk {

Result<assay::Calibration> calibrate(CalibrateRequest const& request) {
    GW_TRY(auto const method, load_method(request.method));
    GW_TRY(auto const cylinder, load_cylinder(request.cylinder));
    struct Loaded {
        std::optional<assay::RunAreas> areas;
        std::optional<Instant> start;
        std::optional<Error> error;
    };
    auto const loaded = parallel_map(request.runs.size(), [&](std::size_t i) {
        Loaded out;
        auto const run = load_run(request.runs[i], request.rate_hz);
        if (!run) {
            out.error = run.error();
            return out;
        }
        if (auto const* trace = std::get_if<trace::Trace>(&*run)) out.start = trace->start;
        auto areas = areas_of(*run, method);
        if (areas)
            out.areas = std::move(*areas);
        else
            out.error = areas.error();
        return out;
    });
    std::vector<assay::RunAreas> runs;
    std::optional<Instant> last;
    for (auto const& l : loaded) {
        if (l.error) return pass_on(*l.error);
        runs.push_back(*l.areas);
        if (l.start && (!last || l.start->milliseconds > last->milliseconds)) last = l.start;
    }
    assay::CalibrateOptions options;
    options.discard = request.discard;
    GW_TRY(auto calibration, assay::calibrate(runs, method, cylinder, options));
    calibration.time = last;
    return calibration;
}

std::string calibration_text(assay::Calibration const& calibration) {
    std::string out = fmt::format("Factors from {} run{} on cylinder {}\n\n",
                                  calibration.runs_used.size(),
                                  calibration.runs_used.size() == 1 ? "" : "s",
                                  calibration.cylinder);
    out += fmt::format("{:<20} {:>16} {:>8} {:>10} {:>10} {:>4}\n",
                       "component",
                       "area per mol/mol",
                       "u %",
                       "run sd %",
                       "apex s",
                       "det");
    for (auto const& f : calibration.factors)
        out += fmt::format("{:<20} {:>16.7g} {:>8} {:>10} {:>10} {:>4}{}\n",
                           gas::name(f.component),
                           f.value,
                           fixed(100 * f.u / f.value, 3),
                           fixed(100 * f.repeatability, 3),
                           fixed(f.retention_s, 2),
                           f.detector,
                           f.borrowed ? "  by ratio" : "");
    for (auto const& r : calibration.runs_rejected)
        out += fmt::format("\nnot used: {}: {}", r.source, r.reason);
    if (!calibration.runs_rejected.empty()) out += "\n";
    return out;
}

Result<AssaySetup> assay_setup(AssayRequest const& request) {
    AssaySetup out;
    out.reference = request.reference;
    GW_TRY(out.method, load_method(request.method));
    GW_TRY(out.calibration, load_calibration(request.calibration));
    if (request.characterisation) {
        GW_TRY(auto const bytes, read_file(*request.characterisation));
        GW_TRY(auto const document, parse_json(bytes, *request.characterisation));
        GW_TRY(auto const member, document.root().at("characterisation"));
        GW_TRY(out.characterisation, gas::read_characterisation(member));
    }
    if (!out.calibration.method_hash.empty() && out.calibration.method_hash != out.method.hash)
        out.warnings.emplace_back(
            "The calibration was made with another version of the method file.");
    return out;
}

Result<AssayedRun> assayed(Run const& run,
                           AssaySetup const& setup,
                           assay::PeakFinder const& finder) {
    AssayedRun out;
    if (auto const* trace = std::get_if<trace::Trace>(&run)) {
        out.unit = trace->unit;
        out.areas = assay::run_areas(*trace, setup.method, finder);
    } else {
        GW_TRY(out.areas, areas_of(run, setup.method));
    }
    out.warnings = out.areas.warnings;
    out.warnings.insert(out.warnings.end(), setup.warnings.begin(), setup.warnings.end());
    GW_TRY(out.composition, assay::composition_of(out.areas, setup.method, setup.calibration));
    out.warnings.insert(
        out.warnings.end(), out.composition.warnings.begin(), out.composition.warnings.end());
    bool const lumped = out.composition.gas.fraction(gas::c6_plus) > 0;
    if (lumped)
        out.composition.gas.characterisation = assay::line_gas_characterisation(
            setup.characterisation, &setup.method, &setup.calibration, out.warnings);
    auto const valued =
        assay::with_heavy_end(out.composition.gas, out.composition.gas.characterisation, false);
    GW_TRY(out.properties.values, gas::properties_of(valued, setup.reference));
    out.properties.reference = setup.reference;
    out.properties.total = {out.composition.unnormalised_total, true};
    out.properties.warnings = gas::warnings_of(out.properties.values);
    return out;
}

Result<AssayedRun> assay_run(AssayRequest const& request) {
    GW_TRY(auto const setup, assay_setup(request));
    GW_TRY(auto const run, load_run(request.run, request.rate_hz));
    GW_TRY(auto out, assayed(run, setup));
    if (request.after && !request.before)
        return fail(Errc::bad_input,
                    "A run after says nothing without the run before.",
                    "--after",
                    "give --before too");
    if (request.before) {
        GW_TRY(auto const earlier, load_run(*request.before, request.rate_hz));
        GW_TRY(auto const before, areas_of(earlier, setup.method));
        std::optional<assay::RunAreas> after;
        if (request.after) {
            GW_TRY(auto const later, load_run(*request.after, request.rate_hz));
            GW_TRY(after, areas_of(later, setup.method));
        }
        out.carry_over =
            assay::carry_over(before, out.areas, after ? &*after : nullptr, setup.method.cycle_s);
        for (auto& note : assay::carry_over_notes(*out.carry_over, out.areas))
            out.warnings.push_back(std::move(note));
    }
    if (request.monte_carlo_seed) {
        auto const* iso = std::get_if<gas::Iso6976Options>(&request.reference);
        if (iso == nullptr)
            return fail(Errc::bad_input,
                        "The Monte Carlo draw is made with ISO 6976 only.",
                        "--standard",
                        "leave the draw out, or value by iso6976");
        metrology::MonteCarloOptions options;
        options.seed = *request.monte_carlo_seed;
        auto const valued =
            assay::with_heavy_end(out.composition.gas, out.composition.gas.characterisation, false);
        GW_TRY(out.distribution, assay::calorific_distribution(valued, *iso, options));
    }
    return out;
}

Json assayed_run_json(AssayedRun const& run) {
    Json peaks = Json::array();
    for (auto const& p : run.areas.peaks) peaks.push_back(peak_json(p));
    if (run.areas.peaks.empty())  // a report: what it says of each peak
        for (auto const& a : run.areas.areas)
            peaks.push_back(
                Json{{"component", std::string(gas::name(a.component))},
                     {"apex_s", a.retention_s > 0 ? Json(a.retention_s) : Json(nullptr)},
                     {"area", a.area},
                     {"detector", a.detector}});
    Json out{{"unnormalised_total", 100 * run.composition.unnormalised_total},
             {"composition", gas::composition_json(run.composition.gas)},
             {"properties", gas_properties_json(run.properties)},
             {"peaks", peaks},
             {"warnings", run.warnings}};
    if (run.carry_over) {
        Json late = Json::array();
        for (auto const& l : run.carry_over->late) {
            auto const& p = run.areas.peaks[l.peak].peak;
            late.push_back(Json{{"apex_s", p.apex_s},
                                {"detector", p.detector},
                                {"injected_runs_before", l.runs_before},
                                {"plates", l.plates},
                                {"usual_plates", l.usual_plates},
                                {"plates_from_then", l.plates_from_then},
                                {"also_in_run_before", l.also_before}});
        }
        auto const number = [](std::optional<double> const& v) {
            return v ? Json(*v) : Json(nullptr);
        };
        Json unfinished = Json::array();
        for (auto const& p : run.carry_over->unfinished)
            unfinished.push_back(Json{{"detector", p.detector},
                                      {"apex_s", p.apex_s},
                                      {"percent", number(p.percent)},
                                      {"u", number(p.u_percent)}});
        auto const& share = run.carry_over->share;
        out["carry_over"] = {{"late_peaks", late},
                             {"unfinished", unfinished},
                             {"old_gas_percent", share ? Json(100 * share->value) : Json(nullptr)},
                             {"u", share ? Json(100 * share->u) : Json(nullptr)}};
    }
    if (run.distribution) {
        auto const& m = run.distribution->monte_carlo;
        out["gross_cv_volume_distribution"] = {
            {"linear", quantity_json(run.distribution->linear, "MJ/m3")},
            {"monte_carlo", quantity_json({m.mean, m.u}, "MJ/m3")},
            {"interval_95", {m.low, m.high}},
            {"shortest_95", {m.shortest_low, m.shortest_high}},
            {"trials", m.trials},
            {"tolerance", m.tolerance},
            {"stable", m.stable}};
    }
    return out;
}

std::string assayed_run_text(AssayedRun const& run) {
    std::string out = fmt::format("{}\nunnormalised total {} mol%\n\n",
                                  run.areas.source,
                                  fixed(100 * run.composition.unnormalised_total, 3));
    out += fmt::format("{:<20} {:>12} {:>10}\n", "component", "mol%", "u mol%");
    auto const& gas = run.composition.gas;
    for (std::size_t i = 0; i < gas.components.size(); ++i)
        out += fmt::format("{:<20} {:>12} {:>10}\n",
                           gas::name(gas.components[i]),
                           fixed(100 * gas.x[i], 4),
                           fixed(100 * std::sqrt(std::max(0.0, gas.V(i, i))), 4));
    out += "\n" + gas_properties_text(run.properties);
    if (run.distribution) {
        auto const& m = run.distribution->monte_carlo;
        out += fmt::format(
            "\ngross calorific value: {} MJ/m3, u {} to first order; {}, u {} by {} trials (JCGM "
            "101), 95 %: {} to {}\n",
            fixed(run.distribution->linear.value, 5),
            fixed(run.distribution->linear.u, 5),
            fixed(m.mean, 5),
            fixed(m.u, 5),
            m.trials,
            fixed(m.low, 5),
            fixed(m.high, 5));
    }
    if (!run.areas.peaks.empty()) out += "\n" + peaks_table(run.areas.peaks, run.unit);
    return out;
}

}  // namespace gw::desk
