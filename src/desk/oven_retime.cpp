#include "desk/oven_retime.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "base/file.hpp"
#include "base/text.hpp"
#include "desk/load.hpp"

namespace gw::desk {

namespace {

// Integration begins and ends where the peak has fallen to this share of its height: four standard
// deviations of a Gaussian (gates at 3 to 4 before and 4 to 6 after: common practice, no source).
constexpr double gate_level = 3.4e-4;
constexpr double inhibit_before_s = 0.5, inhibit_after_s = 1.5;  // 0.5 to 2 s: common practice

double down(double t, double step) { return std::floor(t / step + 1e-9) * step; }
double up(double t, double step) { return std::ceil(t / step - 1e-9) * step; }
/// A multiple of a decimal step without the rounding's tail (46.6, not 46.60000000000001).
double tidy(double t) { return std::round(t * 1e6) / 1e6; }

std::vector<TypedPeak> typed_peaks(oven::Retimed const& retimed,
                                   oven::Simulated const& run,
                                   double step) {
    std::vector<TypedPeak> out;
    for (auto const& share : retimed.after) {
        auto const peak = std::find_if(run.peaks.begin(), run.peaks.end(), [&](auto const& p) {
            return p.reported_as == share.reported_as && p.detector == share.detector;
        });
        if (peak == run.peaks.end()) continue;
        auto const& y = peak->signal;
        auto const top = static_cast<std::size_t>(std::max_element(y.begin(), y.end()) - y.begin());
        std::size_t on = top, off = top;
        while (on > 0 && y[on] > gate_level * y[top]) --on;
        while (off + 1 < y.size() && y[off] > gate_level * y[top]) ++off;
        TypedPeak typed;
        typed.component = share.reported_as;
        typed.detector = static_cast<int>(share.detector) + 1;
        typed.retention_s = std::round(share.apex_s / step) * step;
        typed.on_s = down(std::max(static_cast<double>(on) * run.interval_s, share.from_s), step);
        typed.off_s = up(std::min(static_cast<double>(off) * run.interval_s, share.to_s), step);
        out.push_back(typed);
    }
    std::sort(out.begin(), out.end(), [](auto const& a, auto const& b) {
        return std::pair(a.detector, a.retention_s) < std::pair(b.detector, b.retention_s);
    });
    // Neighbours that meet at a valley share one typed time.
    for (std::size_t i = 1; i < out.size(); ++i)
        if (out[i].detector == out[i - 1].detector && out[i].on_s < out[i - 1].off_s)
            out[i].on_s = out[i - 1].off_s;
    return out;
}

Result<std::vector<trace::Trace>> load_runs(std::vector<std::string> const& paths) {
    std::vector<trace::Trace> out;
    for (auto const& path : paths) {
        GW_TRY(auto run, load_run(path));
        auto* trace = std::get_if<trace::Trace>(&run);
        if (trace == nullptr)
            return fail(Errc::bad_input,
                        "This is a printed report; the twin needs the signal itself.",
                        path,
                        "give a trace");
        out.push_back(std::move(*trace));
    }
    return out;
}

}  // namespace

bool OvenRetiming::clean() const {
    return std::all_of(retimed.programme.begin(), retimed.programme.end(), [](auto const& e) {
        return e.feasible;
    });
}

Result<std::string> with_programme(TwinMethod const& twin, oven::Oven const& oven) {
    auto json = Json::parse(twin.text);
    auto programme = Json::array();
    for (auto const& event : oven.programme)
        programme.push_back({{"at_s", tidy(event.at_s)}, {"action", event.action}});
    json["valve_programme"] = programme;
    auto& block = json["oven"];
    if (block["columns"].size() != oven.columns.size())
        return fail(Errc::conflict, "The twin changed its columns.", "oven", "report this");
    for (std::size_t c = 0; c < oven.columns.size(); ++c) {
        if (oven.columns[c].holdup_s > 0)
            block["columns"][c]["holdup_s"] = oven.columns[c].holdup_s;
        block["columns"][c]["plates"] = oven.columns[c].plates;
    }
    for (std::size_t s = 0; s < oven.species.size(); ++s) {
        auto& row = block["components"][s];
        for (std::size_t c = 0; c < oven.columns.size(); ++c)
            row["retention_factor"][oven.columns[c].id] = oven.species[s].k[c];
        row["relative_molar_response"] = oven.species[s].response;
    }
    if (oven.computed_flow)
        for (std::size_t c = 0; c < oven.chains.size(); ++c)
            if (oven.chains[c].carrier.viscosity_pa_s > 0)
                block["chains"][c]["carrier"]["viscosity_uPa_s"] =
                    oven.chains[c].carrier.viscosity_pa_s * 1e6;
    block["temperature_c"] = tidy(oven.temperature_k - 273.15);
    return to_text(json);
}

OvenRetiming retiming_of(assay::Method const& method,
                         oven::Oven const& oven,
                         std::vector<double> const& amounts) {
    OvenRetiming out;
    oven::RetimeOptions options;
    options.time_step_s = method.time_step_s.value_or(options.time_step_s);
    out.time_step_s = options.time_step_s;
    out.retimed = oven::retime(oven, amounts, options);
    for (auto& e : out.retimed.programme) e.at_s = tidy(e.at_s);
    auto const run = oven::simulate(out.retimed.oven, amounts);
    out.peaks = typed_peaks(out.retimed, run, options.time_step_s);
    for (auto const& e : out.retimed.programme)
        out.inhibits.push_back(
            {e.action,
             tidy(std::max(0.0, down(e.at_s - inhibit_before_s, out.time_step_s))),
             tidy(up(e.at_s + inhibit_after_s, out.time_step_s))});
    return out;
}

Result<std::string> retimed_method(TwinMethod const& twin, OvenRetiming const& done) {
    GW_TRY(auto const text, with_programme(twin, done.retimed.oven));
    auto json = Json::parse(text);
    for (auto& peak : json["peaks"])
        for (auto const& typed : done.peaks)
            if (gas::find_component(peak["component"].get<std::string>()) == typed.component)
                peak["retention_s"] = tidy(typed.retention_s);
    return to_text(json);
}

Result<OvenRetiming> oven_retime(OvenRetimeRequest const& request) {
    GW_TRY(auto const twin, load_twin(request.method));
    std::vector<std::string> warnings;
    GW_TRY(auto const amounts, load_amounts(request.gas, twin, warnings));
    auto oven = twin.oven;
    std::optional<oven::Fitted> fitted;
    std::optional<double> scatter_s;
    if (!request.runs.empty()) {
        GW_TRY(auto const runs, load_runs(request.runs));
        GW_TRY(fitted, oven::fit(oven, amounts, runs));
        oven = fitted->oven;
        for (auto const& p : fitted->parameters)
            if (p.name.rfind("event:", 0) == 0 && p.determined)
                scatter_s = std::max(scatter_s.value_or(0), p.u);
    }
    auto out = retiming_of(twin.method, oven, amounts);
    out.fitted = std::move(fitted);
    out.timing_scatter_s = scatter_s;
    out.warnings = std::move(warnings);
    if (request.output) {
        GW_TRY(auto const text, retimed_method(twin, out));
        GW_CHECK(write_file(*request.output, text));
    }
    return out;
}

Json oven_retiming_json(OvenRetiming const& done) {
    Json programme = Json::array(), joint = Json::array(), moved = Json::array();
    auto const number = [](std::optional<double> const& x) { return x ? Json(*x) : Json(nullptr); };
    for (auto const& e : done.retimed.programme) {
        programme.push_back({{"action", e.action},
                             {"at_s", e.at_s},
                             {"earliest_s", number(e.earliest_s)},
                             {"latest_s", number(e.latest_s)},
                             {"feasible", e.feasible},
                             {"limited_by", e.limited_by},
                             {"sentence", e.sentence}});
        if (std::abs(e.at_s - e.from_s) > 1e-6)
            moved.push_back({{"action", e.action}, {"from_s", e.from_s}, {"to_s", e.at_s}});
    }
    for (auto const& j : done.retimed.joint)
        joint.push_back({{"actions", {j.first, j.second}},
                         {"earliest_shift_s", number(j.earliest_s)},
                         {"latest_shift_s", number(j.latest_s)},
                         {"feasible", j.earliest_s.has_value()}});
    Json peaks = Json::array(), inhibits = Json::array();
    for (auto const& p : done.peaks)
        peaks.push_back({{"component", std::string(gas::name(p.component))},
                         {"detector", p.detector},
                         {"retention_s", tidy(p.retention_s)},
                         {"on_s", tidy(p.on_s)},
                         {"off_s", tidy(p.off_s)}});
    for (auto const& i : done.inhibits)
        inhibits.push_back({{"action", i.action}, {"from_s", i.from_s}, {"to_s", i.to_s}});
    Json losses = Json::object();
    for (auto const& after : done.retimed.after) {
        Json row = {{"lost_percent", 100 * after.loss()}, {"gained_percent", 100 * after.gain()}};
        for (auto const& before : done.retimed.before)
            if (before.reported_as == after.reported_as) {
                row["lost_percent_before"] = 100 * before.loss();
                row["gained_percent_before"] = 100 * before.gain();
            }
        losses[std::string(gas::name(after.reported_as))] = row;
    }
    Json out{
        {"programme", programme},
        {"joint", joint},
        {"moved", moved},
        {"enter", {{"time_step_s", done.time_step_s}, {"peaks", peaks}, {"inhibits", inhibits}}},
        {"losses", losses},
        {"calorific_value_error_percent",
         {{"before", 100 * done.retimed.cv_before}, {"after", 100 * done.retimed.cv_after}}},
        {"simulations", done.retimed.simulations},
        {"warnings", done.warnings}};
    if (done.fitted) out["fit"] = oven_fit_json({*done.fitted, {}});
    out["timing_scatter_s"] = number(done.timing_scatter_s);
    return out;
}

std::string oven_retiming_text(OvenRetiming const& done) {
    std::string out;
    for (auto const& e : done.retimed.programme) out += e.sentence + "\n";
    for (auto const& j : done.retimed.joint)
        if (j.earliest_s)
            out +=
                fmt::format("Moved together, \"{}\" and \"{}\" may go from {:+.2f} to {:+.2f} s.\n",
                            j.first,
                            j.second,
                            *j.earliest_s,
                            *j.latest_s);
    if (done.timing_scatter_s)
        out += fmt::format("The runs place the events within {:.3f} s (k = 1).\n",
                           *done.timing_scatter_s);
    out += fmt::format("\nto type in{:>26}{:>10}{:>10}{:>12}{:>12}\n",
                       "retention s",
                       "on s",
                       "off s",
                       "loses %",
                       "gains %");
    for (auto const& p : done.peaks)
        for (auto const& s : done.retimed.after)
            if (s.reported_as == p.component)
                out += fmt::format("{:<24}{:>12.2f}{:>10.2f}{:>10.2f}{:>12.4f}{:>12.4f}\n",
                                   gas::name(p.component),
                                   p.retention_s,
                                   p.on_s,
                                   p.off_s,
                                   100 * s.loss(),
                                   100 * s.gain());
    for (auto const& i : done.inhibits)
        out += fmt::format(
            "inhibit integration from {:.2f} to {:.2f} s ({})\n", i.from_s, i.to_s, i.action);
    out += fmt::format(
        "calorific value if every factor were right: {:+.4f} % before, {:+.4f} % after\n",
        100 * done.retimed.cv_before,
        100 * done.retimed.cv_after);
    return out;
}

Result<OvenFit> fit_of(TwinMethod const& twin,
                       std::optional<std::vector<double>> const& amounts,
                       std::vector<trace::Trace> const& runs,
                       std::function<bool(double)> go_on) {
    OvenFit out;
    oven::FitOptions options;
    options.go_on = std::move(go_on);
    // No gas named: equal amounts to start with, and areas quite free.
    auto const species = twin.oven.species.size();
    std::vector<double> const equal(species, 1.0 / static_cast<double>(species));
    if (!amounts) {
        options.response = 1e3;
        out.warnings.emplace_back(
            "no gas was given: responses hold the amounts too and say nothing of either");
    }
    GW_TRY(out.fitted, oven::fit(twin.oven, amounts ? *amounts : equal, runs, options));
    return out;
}

Result<std::string> fitted_method(TwinMethod const& twin, OvenFit const& done, bool known_gas) {
    auto fitted = done.fitted.oven;
    if (!known_gas)
        for (std::size_t s = 0; s < fitted.species.size(); ++s)
            fitted.species[s].response = twin.oven.species[s].response;
    return with_programme(twin, fitted);
}

Result<OvenFit> oven_fit(OvenFitRequest const& request) {
    GW_TRY(auto const twin, load_twin(request.method));
    GW_TRY(auto const runs, load_runs(request.runs));
    std::vector<std::string> warnings;
    std::optional<std::vector<double>> amounts;
    if (request.gas) {
        GW_TRY(amounts, load_amounts(*request.gas, twin, warnings));
    }
    GW_TRY(auto out, fit_of(twin, amounts, runs));
    out.warnings.insert(out.warnings.begin(), warnings.begin(), warnings.end());
    if (request.output) {
        GW_TRY(auto const text, fitted_method(twin, out, amounts.has_value()));
        GW_CHECK(write_file(*request.output, text));
    }
    return out;
}

Json oven_fit_json(OvenFit const& done) {
    Json parameters = Json::array();
    for (auto const& p : done.fitted.parameters)
        parameters.push_back({{"name", p.name},
                              {"value", p.value},
                              {"u", p.u},
                              {"unit", p.unit},
                              {"prior", {{"value", p.prior_value}, {"u", p.prior_u}}},
                              {"determined", p.determined}});
    return Json{{"parameters", parameters},
                {"residual_rms", done.fitted.residual_rms},
                {"stopped", done.fitted.stopped},
                {"notes", done.fitted.notes},
                {"simulations", done.fitted.simulations},
                {"warnings", done.warnings}};
}

std::string oven_fit_text(OvenFit const& done) {
    std::string out = fmt::format("{:<30}{:>12}{:>12}  {}\n", "parameter", "value", "u", "unit");
    for (auto const& p : done.fitted.parameters)
        out += fmt::format("{:<30}{:>12.5g}{:>12.2g}  {}{}\n",
                           p.name,
                           p.value,
                           p.u,
                           p.unit,
                           p.determined ? "" : "   (not determined by the runs)");
    for (auto const& note : done.fitted.notes) out += note + "\n";
    out += fmt::format(
        "residual {:.4g} (root mean square), {}\n", done.fitted.residual_rms, done.fitted.stopped);
    return out;
}

}  // namespace gw::desk
