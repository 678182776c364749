#include "oven/fault.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "base/text.hpp"

namespace gw::oven {

namespace {

/// Flow becomes `factor` times what it was: hold-ups go as 1/flow and, with a concentration
/// detector, so do all areas; heights stay.
void change_flow(Oven& oven, double factor) {
    for (auto& column : oven.columns) column.holdup_s /= factor;
    for (auto& chain : oven.chains) chain.carrier.viscosity_pa_s /= factor;
    oven.response_factor /= factor;
}

/// Inlet pressure becomes `factor` times what it was. Along the whole chain the hold-up goes as
/// (p1^3 - p2^3)/(p1^2 - p2^2)^2 and the outlet flow as p1^2 - p2^2 (Darcy and Boyle).
void change_pressure(Oven& oven, double factor) {
    double outlet_flow = factor, speed = factor;
    auto const& carrier = oven.chains.front().carrier;
    double const p1 = carrier.inlet_pa, p2 = carrier.outlet_pa;
    if (p1 > 0 && p2 > 0 && p1 * factor > p2) {
        auto const flow = [&](double p) { return p * p - p2 * p2; };
        auto const holdup = [&](double p) {
            return (p * p * p - p2 * p2 * p2) / std::pow(flow(p), 2);
        };
        outlet_flow = flow(p1 * factor) / flow(p1);
        speed = holdup(p1) / holdup(p1 * factor);
    }
    for (auto& column : oven.columns) column.holdup_s /= speed;
    for (auto& chain : oven.chains) chain.carrier.inlet_pa *= factor;
    oven.response_factor /= outlet_flow;
}

template <class Change>
void scale_amounts(Faulty& run, Change const& factor_of) {
    for (std::size_t s = 0; s < run.amounts.size(); ++s)
        run.amounts[s] *= factor_of(run.oven.species[s].component);
}

void move_events(Oven& oven, double by_s, std::string const& action) {
    std::vector<std::string> names;
    for (auto const& event : oven.programme) {
        if (action.empty() ? oven.injects(event.action) : event.action != action) continue;
        if (std::find(names.begin(), names.end(), event.action) == names.end())
            names.push_back(event.action);
    }
    for (auto const& name : names) shift_event(oven, name, by_s);
}

/// Nitrogen, else the first light gas the twin knows: what air shows as (oxygen is not separated
/// from nitrogen on a porous polymer).
void add_air(Faulty& run, double share) {
    auto const nitrogen = *gas::find_component("nitrogen");
    for (double& x : run.amounts) x *= 1 - share;
    for (std::size_t s = 0; s < run.amounts.size(); ++s)
        if (run.oven.species[s].component == nitrogen) run.amounts[s] += share;
}

/// How much of a component condenses first in a chilled cylinder, relative to hexane and heavier:
/// rising with carbon number. Common practice, no source.
double condenses(gas::Component component) {
    constexpr std::array share = {0.0, 0.0, 0.0, 0.02, 0.15, 0.45};
    if (!gas::is_hydrocarbon(component)) return 0;
    auto const n = static_cast<std::size_t>(gas::carbon_number(component));
    return n < share.size() ? share[n] : 1;
}

double gain(double share) { return 1 - share; }

// clang-format off
constexpr std::array table = {
    Fault{"carrier_pressure_low", "carrier pressure too low", "share of the inlet pressure missing", 0, 0.5,
          [](Faulty& r, double s, std::string const&) { change_pressure(r.oven, 1 - s); }},
    Fault{"carrier_pressure_high", "carrier pressure too high", "share of the inlet pressure too much", 0, 1,
          [](Faulty& r, double s, std::string const&) { change_pressure(r.oven, 1 + s); }},
    Fault{"leak_upstream", "leak upstream of injection", "share of the carrier flow lost", 0, 0.8,
          [](Faulty& r, double s, std::string const&) { change_flow(r.oven, 1 - s); }},
    Fault{"leak_downstream", "leak between injection and detector", "share of the injected gas lost", 0, 0.95,
          [](Faulty& r, double s, std::string const&) { r.oven.amount_factor *= gain(s); }},
    Fault{"vent_blocked", "detector vent partly blocked", "share of the flow lost", 0, 0.8,
          [](Faulty& r, double s, std::string const&) { change_flow(r.oven, 1 - s); }},
    Fault{"oven_offset", "oven not at its temperature", "K above the stated temperature, or below with minus", -40, 40,
          [](Faulty& r, double s, std::string const&) { r.oven = at_temperature(r.oven, r.oven.temperature_k + s); }},
    Fault{"event_early", "valve event too early", "s", 0, 60,
          [](Faulty& r, double s, std::string const& a) { move_events(r.oven, -s, a); }, true},
    Fault{"event_late", "valve event too late", "s", 0, 60,
          [](Faulty& r, double s, std::string const& a) { move_events(r.oven, s, a); }, true},
    Fault{"slow_actuator", "valves move late after every command", "s of delay of every event, injection too", 0, 10,
          [](Faulty& r, double s, std::string const&) {
              std::vector<std::string> names;
              for (auto const& e : r.oven.programme)
                  if (std::find(names.begin(), names.end(), e.action) == names.end()) names.push_back(e.action);
              for (auto const& name : names) shift_event(r.oven, name, s);
          }},
    Fault{"valve_cross_leak", "a valve leaks from port to port", "share of the injected gas that skips the columns", 0, 0.5,
          [](Faulty& r, double s, std::string const&) { r.oven.leak_across = s; }},
    Fault{"column_contaminated", "columns contaminated or aged", "share of the plates lost; a fifth of it of retention", 0, 0.9,
          [](Faulty& r, double s, std::string const&) {
              for (auto& c : r.oven.columns) c.plates = std::max(c.plates * (1 - s), 10.0);
              for (auto& species : r.oven.species)
                  for (double& k : species.k) k *= 1 - s / 5;
          }},
    Fault{"wrong_carrier", "nitrogen in the helium carrier", "share of nitrogen in the carrier", 0, 0.95,
          [](Faulty& r, double s, std::string const&) {
              // Conductivity contrast against hydrocarbons falls about as the helium share (He 155.7,
              // N2 26.0 mW/(m K) at 300 K, CRC Handbook); nitrogen itself no longer shows at all.
              r.oven.response_factor *= 1 - s;
          }},
    Fault{"air_in_sample", "air in the sample", "share of the sample that is air", 0, 0.9,
          [](Faulty& r, double s, std::string const&) { add_air(r, s); }},
    Fault{"loop_underfilled", "sample loop not filled", "share of the amount missing", 0, 0.95,
          [](Faulty& r, double s, std::string const&) { r.oven.amount_factor *= gain(s); }},
    Fault{"barometer", "ambient pressure has moved", "kPa above 101.325, or below with minus", -30, 10,
          [](Faulty& r, double s, std::string const&) { r.oven.amount_factor *= 1 + s / 101.325; }},
    Fault{"detector_ageing", "detector has lost response", "share of the response lost", 0, 0.95,
          [](Faulty& r, double s, std::string const&) { r.oven.response_factor *= gain(s); }},
    Fault{"near_saturation", "detector near saturation", "share lost at the upper end of the range", 0, 0.5,
          [](Faulty& r, double s, std::string const&) {
              for (auto& d : r.oven.detectors)
                  if (s > 0) d.saturation = (d.high < 1e29 ? d.high : 1000) * (1 - s) / s;
          }},
    Fault{"calibration_gas_condensed", "calibration gas partly condensed", "share of hexane and heavier lost", 0, 1,
          [](Faulty& r, double s, std::string const&) {
              scale_amounts(r, [&](gas::Component c) { return 1 - s * condenses(c); });
          }},
    Fault{"wrong_certificate_entry", "a certificate value typed wrongly", "relative error of one typed value: the run itself does not change", -1, 10,
          [](Faulty&, double, std::string const&) {}},
    Fault{"carry_over", "rest of the sample before", "share of the loop still filled with pure methane from before", 0, 0.9,
          [](Faulty& r, double s, std::string const&) {
              auto const methane = *gas::find_component("methane");
              scale_amounts(r, [&](gas::Component) { return 1 - s; });
              for (std::size_t i = 0; i < r.amounts.size(); ++i)
                  if (r.oven.species[i].component == methane) r.amounts[i] += s;
          }},
};
// clang-format on

Fault const* find(std::string const& id) {
    auto const at =
        std::find_if(table.begin(), table.end(), [&](Fault const& f) { return f.id == id; });
    return at == table.end() ? nullptr : &*at;
}

}  // namespace

std::span<Fault const> faults() { return table; }

Result<FaultRequest> read_fault(std::string const& text, std::string const& option) {
    auto const equals = text.rfind('=');
    auto const number =
        equals == std::string::npos ? std::nullopt : parse_number(text.substr(equals + 1));
    if (!number)
        return fail(Errc::bad_input,
                    fmt::format("\"{}\" is not NAME=SEVERITY.", text.substr(0, 60)),
                    option,
                    "write for example carrier_pressure_low=0.02");
    return FaultRequest{text.substr(0, equals), *number};
}

Result<> apply_fault(Faulty& run, FaultRequest const& request, std::string const& option) {
    auto const colon = request.name.find(':');
    auto const id = request.name.substr(0, colon);
    auto const action = colon == std::string::npos ? std::string() : request.name.substr(colon + 1);
    auto const* fault = find(id);
    if (fault == nullptr) {
        std::vector<std::string> ids;
        for (auto const& f : table) ids.emplace_back(f.id);
        return fail(Errc::bad_input,
                    fmt::format("There is no fault \"{}\".", id.substr(0, 40)),
                    option,
                    "choose " + joined(ids, ", "));
    }
    if (!(request.severity >= fault->low && request.severity <= fault->high))
        return fail(Errc::bad_input,
                    fmt::format("{} takes {} to {} ({}), not {}.",
                                id,
                                shortest(fault->low),
                                shortest(fault->high),
                                fault->severity,
                                shortest(request.severity)),
                    option,
                    "correct the severity");
    if (colon != std::string::npos && !fault->takes_action)
        return fail(Errc::bad_input,
                    fmt::format("{} concerns no single event.", id),
                    option,
                    "write it without \":\"");
    if (!action.empty() && std::none_of(run.oven.programme.begin(),
                                        run.oven.programme.end(),
                                        [&](Event const& e) { return e.action == action; }))
        return fail(
            Errc::bad_input,
            fmt::format("No event of the programme is called \"{}\".", action.substr(0, 40)),
            option,
            "name one of valve_programme");
    fault->apply(run, request.severity, action);
    return {};
}

}  // namespace gw::oven
