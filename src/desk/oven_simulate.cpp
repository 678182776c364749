#include "desk/oven_simulate.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "base/file.hpp"
#include "base/hash.hpp"
#include "base/text.hpp"
#include "trace/trace_file.hpp"

namespace gw::desk {

Result<TwinMethod> load_twin(std::string const& path) {
    GW_TRY(auto text, read_file(path));
    return twin_of(std::move(text), path);
}

Result<TwinMethod> twin_of(std::string text, std::string const& source) {
    TwinMethod twin;
    twin.text = std::move(text);
    GW_TRY(auto const document, parse_json(twin.text, source));
    GW_TRY(twin.method, assay::read_method(document.root()));
    twin.method.hash = sha256(twin.text);
    GW_TRY(twin.oven, oven::read_oven(document.root(), twin.method));
    return twin;
}

Result<std::vector<double>> load_amounts(std::string const& path,
                                         TwinMethod const& twin,
                                         std::vector<std::string>& warnings) {
    GW_TRY(auto const text, read_file(path));
    return amounts_in(text, path, twin, warnings);
}

Result<std::vector<double>> amounts_in(std::string const& text,
                                       std::string const& source,
                                       TwinMethod const& twin,
                                       std::vector<std::string>& warnings) {
    GW_TRY(auto const document, parse_json(text, source));
    GW_TRY(auto const gas, gas::read_composition(document.root()));
    double const total = gas.total();
    if (!(total > 0))
        return document.root().wrong("This gas is empty.", "give it at least one component");
    if (std::abs(total - 1) > 0.001)
        warnings.push_back(fmt::format(
            "the gas adds up to {:.3f} mol%; the amounts were taken as they stand", 100 * total));
    auto const split = twin.method.characterisation.parts.empty() ? gas::default_characterisation()
                                                                  : twin.method.characterisation;
    return oven::amounts_of(gas, twin.oven, split);
}

Result<> apply_shift(oven::Oven& oven, std::string const& text, std::string const& option) {
    auto const equals = text.rfind('=');
    auto const by =
        equals == std::string::npos ? std::nullopt : parse_number(text.substr(equals + 1));
    if (!by)
        return fail(Errc::bad_input,
                    fmt::format("\"{}\" is not ACTION=SECONDS.", text.substr(0, 60)),
                    option,
                    "write for example \"reverse A=+0.5\"");
    auto const action = text.substr(0, equals);
    bool known = false;
    for (auto const& event : oven.programme) {
        if (event.action != action) continue;
        known = true;
        double const at = event.at_s + *by;
        if (!(at >= -oven.cycle_s && at <= 2 * oven.cycle_s))
            return fail(
                Errc::bad_input,
                fmt::format(
                    "This would move \"{}\" to {} s, far outside the cycle.", action, shortest(at)),
                option,
                "give a smaller shift");
    }
    if (!known) {
        std::vector<std::string> names;
        for (auto const& event : oven.programme) names.push_back(event.action);
        return fail(Errc::bad_input,
                    fmt::format("No event is called \"{}\".", action.substr(0, 60)),
                    option,
                    "choose " + joined(names, ", "));
    }
    oven::shift_event(oven, action, *by);
    return {};
}

Result<OvenSimulation> oven_simulate(OvenSimulateRequest const& request) {
    GW_TRY(auto const twin, load_twin(request.method));
    OvenSimulation out;
    out.request = request;
    oven::Faulty faulty{twin.oven, {}};
    GW_TRY(faulty.amounts, load_amounts(request.gas, twin, out.warnings));
    for (auto const& shift : request.shifts)
        GW_CHECK(apply_shift(faulty.oven, shift, "--event-shift"));
    for (auto const& text : request.faults) {
        GW_TRY(auto const fault, oven::read_fault(text, "--fault"));
        GW_CHECK(oven::apply_fault(faulty, fault, "--fault"));
    }
    // A shift or a fault may have brought the events into an order no path covers.
    std::vector<bool> setting(faulty.oven.flags.size());
    for (auto const& event : faulty.oven.programme) {
        if (auto const* action = faulty.oven.action(event.action))
            for (auto const& set : action->sets) setting[set.first] = set.second;
        if (event.at_s < faulty.oven.cycle_s && faulty.oven.path_of(setting) == nullptr)
            out.warnings.push_back(fmt::format(
                "after \"{}\" at {} s no path fits: the gas stands still until the next event",
                event.action,
                shortest(event.at_s)));
    }
    out.oven = faulty.oven;
    out.run = oven::simulate(faulty.oven, faulty.amounts);
    auto trace = oven::as_trace(faulty.oven, out.run, {request.noise_mv, request.seed});
    trace.header["analyser"] = "twin of " + twin.method.name;
    auto const csv = trace::trace_csv(trace);
    out.bytes = csv.size();
    GW_CHECK(write_file(request.output, csv));
    return out;
}

Json oven_simulation_json(OvenSimulation const& done) {
    Json peaks = Json::array(), balance = Json::array(), programme = Json::array();
    for (auto const& peak : done.run.peaks) {
        auto const apex = oven::apex(peak.signal, done.run.interval_s);
        peaks.push_back({{"component", std::string(gas::name(peak.reported_as))},
                         {"detector", peak.detector + 1},
                         {"apex_s", apex.at_s},
                         {"area", peak.area},
                         {"height", apex.height},
                         {"width_half_s", apex.width_half_s}});
    }
    double worst = 0;
    for (auto const& b : done.run.balance) {
        worst = std::max(worst, std::abs(b.imbalance()));
        balance.push_back({{"component", std::string(gas::name(b.component))},
                           {"injected", b.injected},
                           {"detected", b.detected},
                           {"vented", b.vented},
                           {"stored", b.stored},
                           {"imbalance", b.imbalance()}});
    }
    for (auto const& event : done.oven.programme)
        programme.push_back({{"at_s", event.at_s}, {"action", event.action}});
    return Json{{"output", done.request.output},
                {"samples", done.run.samples},
                {"interval_s", done.run.interval_s},
                {"detectors", done.oven.detectors.size()},
                {"programme", programme},
                {"peaks", peaks},
                {"mass_balance", {{"worst_imbalance", worst}, {"components", balance}}},
                {"warnings", done.warnings}};
}

std::string oven_simulation_text(OvenSimulation const& done) {
    std::string out = fmt::format("{:<18}{:>9}{:>10}{:>12}{:>12}{:>10}\n",
                                  "peak",
                                  "detector",
                                  "apex s",
                                  "area",
                                  "height",
                                  "width s");
    for (auto const& peak : done.run.peaks) {
        auto const apex = oven::apex(peak.signal, done.run.interval_s);
        out += fmt::format("{:<18}{:>9}{:>10.2f}{:>12.3f}{:>12.4f}{:>10.2f}\n",
                           gas::name(peak.reported_as),
                           peak.detector + 1,
                           apex.at_s,
                           peak.area,
                           apex.height,
                           apex.width_half_s);
    }
    for (auto const& b : done.run.balance)
        if (b.vented + b.stored > 1e-4 * b.injected)
            out += fmt::format(
                "{}: {:.3f} % reached a detector, {:.3f} % was vented, {:.3f} % is "
                "still in the columns\n",
                gas::name(b.component),
                100 * b.detected / b.injected,
                100 * b.vented / b.injected,
                100 * b.stored / b.injected);
    if (done.request.output != "-")
        out += fmt::format("{}: {} samples on {} detector{}\n",
                           done.request.output,
                           done.run.samples,
                           done.oven.detectors.size(),
                           done.oven.detectors.size() == 1 ? "" : "s");
    return out;
}

}  // namespace gw::desk
