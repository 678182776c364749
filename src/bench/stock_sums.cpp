// What is held in cylinders and lines: how long it lasts, and what keeps it a gas.
#include <fmt/format.h>

#include <cmath>

#include "base/text.hpp"
#include "bench/condensation.hpp"
#include "bench/endurance.hpp"
#include "bench/sums.hpp"

namespace gw::bench {

namespace {

using Form = SumField::Form;

constexpr SumField ambient{
    "ambient", "pressure of the air, for pressures written as gauge", Dimension::pressure, "kPa"};
constexpr double day_s = 86400;

constexpr SumField carrier_fields[] = {
    {"gas",
     "helium, hydrogen, nitrogen, argon, or a composition file",
     Dimension::number,
     "1",
     true,
     Form::gas},
    {"volume", "water volume of one cylinder", Dimension::volume, "L", true},
    {"cylinders", "how many together (default 1)"},
    {"pressure", "as it is now", Dimension::pressure, "bar", true},
    {"least", "least pressure that still feeds the regulator", Dimension::pressure, "bar", true},
    {"temperature", "of the gas (default 20 degC)", Dimension::temperature, "degC"},
    {"flow",
     "all that leaves, columns, references, actuation and leaks",
     Dimension::flow,
     "mL/min",
     true},
    {"reference_pressure",
     "pressure the flow is stated at (default 101.325 kPa)",
     Dimension::pressure,
     "kPa"},
    {"reference_temperature",
     "temperature the flow is stated at (default 15 degC)",
     Dimension::temperature,
     "degC"},
    {"lead_time", "of a new cylinder: the alarm is set at twice that", Dimension::time, "d"},
    ambient,
};

Result<Sum> lasting(SumInputs const& in, Measured daily_use) {
    EnduranceInputs e;
    e.water_volume = in.of("volume");
    e.cylinders = in.of("cylinders", 1).value;
    e.p_now = in.of("pressure");
    e.p_least = in.of("least");
    e.temperature = in.of("temperature", 293.15);
    e.flow = in.of("flow");
    e.daily_use = daily_use;
    e.reference_p = in.of("reference_pressure", 101325).value;
    e.reference_T = in.of("reference_temperature", 288.15).value;
    if (!(e.reference_p > 0 && e.reference_T > 0))
        return fail(Errc::out_of_range,
                    "The reference of the flow must be above zero.",
                    "--reference-pressure");
    e.lead_time_s = in.of("lead_time").value;
    GW_TRY(e.Z, gerg2008_factor(in.gases.find("gas")->second.second));
    GW_TRY(auto const answer, endurance(e));
    Sum out;
    out.add("z_now", "compression factor now", {answer.Z_now, 0}, Dimension::number, "1");
    out.add("z_least",
            "compression factor at the least pressure",
            {answer.Z_least, 0},
            Dimension::number,
            "1");
    out.add("content",
            "gas that can be used, at the reference",
            answer.content,
            Dimension::volume,
            "m3");
    out.add("ideal_content",
            "what an ideal gas, emptied, would promise",
            {answer.ideal_content, 0},
            Dimension::volume,
            "m3");
    out.results.back().exact = true;
    out.add("endurance", "it lasts", answer.time, Dimension::time, "d");
    if (answer.alarm_pressure) {
        out.add("alarm_pressure",
                "alarm: twice the lead time is left",
                {*answer.alarm_pressure, 0},
                Dimension::pressure,
                "bar");
        out.results.back().exact = true;
        out.judge("endurance",
                  "Time left against twice the lead time",
                  Measured{answer.time.value / day_s, answer.time.u / day_s},
                  "d",
                  2 * e.lead_time_s / day_s,
                  {},
                  "twice the lead time: common practice, no source");
    }
    out.warnings.push_back(fmt::format(
        "A night 25 K colder lowers the reading by {:.1f} % without any gas being used.",
        100 * answer.cold_night_fall));
    return out;
}

Result<Sum> carrier(SumInputs const& in) { return lasting(in, {}); }

constexpr SumField cylinder_fields[] = {
    {"gas", "composition file", Dimension::number, "1", true, Form::gas},
    {"volume", "water volume", Dimension::volume, "L", true},
    {"cylinders", "how many together (default 1)"},
    {"pressure", "as it is now", Dimension::pressure, "bar", true},
    {"least", "least pressure of use, of the certificate", Dimension::pressure, "bar", true},
    {"temperature", "of the gas (default 20 degC)", Dimension::temperature, "degC"},
    {"calibrations", "calibrations a day (default 1)"},
    {"runs", "runs of one calibration"},
    {"cycle", "time of one run, gas flowing", Dimension::time, "s"},
    {"run_flow", "flow while it runs", Dimension::flow, "mL/min"},
    {"purge", "gas of the purge before each calibration", Dimension::volume, "L"},
    {"flow", "leaks and bleeds all day", Dimension::flow, "mL/min"},
    {"reference_pressure",
     "pressure the flows are stated at (default 101.325 kPa)",
     Dimension::pressure,
     "kPa"},
    {"reference_temperature",
     "temperature they are stated at (default 15 degC)",
     Dimension::temperature,
     "degC"},
    {"lead_time", "of a new cylinder: the alarm is set at twice that", Dimension::time, "d"},
    ambient,
};

Result<Sum> cylinder(SumInputs const& in) {
    auto const calibrations = in.of("calibrations", 1), runs = in.of("runs"),
               cycle = in.of("cycle"), flow = in.of("run_flow"), purge = in.of("purge");
    for (double const each : {calibrations.value, runs.value, cycle.value, flow.value, purge.value})
        if (!(each >= 0))
            return fail(Errc::out_of_range, "What is used is not below zero.", "--runs");
    double const run = runs.value * cycle.value * flow.value;
    double const u_run =
        std::hypot(runs.value * cycle.value * flow.u, runs.value * cycle.u * flow.value);
    return lasting(in,
                   {calibrations.value * (run + purge.value),
                    std::hypot(calibrations.value * std::hypot(u_run, purge.u),
                               calibrations.u * (run + purge.value))});
}

constexpr SumField storage_fields[] = {
    {"gas", "composition file of the cylinder", Dimension::number, "1", true, Form::gas},
    {"pressure", "of filling, or as it is", Dimension::pressure, "bar", true},
    {"margin", "K above the dew point (default 10)"},
    {"coldest", "lowest temperature it has seen", Dimension::temperature, "degC"},
    ambient,
};

Result<Sum> storage(SumInputs const& in) {
    StorageInputs s;
    s.gas = in.gases.find("gas")->second.second;
    s.pressure = in.of("pressure");
    s.margin_K = in.of("margin", 10).value;
    if (auto const coldest = in.optional("coldest")) s.coldest = coldest->value;
    if (!(s.margin_K >= 0))
        return fail(Errc::out_of_range, "The margin is not below zero.", "--margin");
    GW_TRY(auto const answer, least_storage_temperature(s));
    Sum out;
    out.warnings = answer.warnings;
    if (!answer.dew) {
        out.warnings.emplace_back("This gas has no dew point up to that pressure.");
        if (s.coldest)
            out.judge("cold_exposure",
                      "Coldest seen above the dew point",
                      Measured{1000, 0},
                      "K",
                      s.margin_K,
                      {},
                      "no dew point");
        return out;
    }
    out.add("dew_point",
            fmt::format("highest dew point, at {:.4g} bar", answer.dew->at_pa / 1e5),
            answer.dew->T,
            Dimension::temperature,
            "degC");
    out.add("least_storage", "store and use above", *answer.least, Dimension::temperature, "degC");
    if (answer.margin) {
        out.add("margin", "coldest seen less dew point", *answer.margin, Dimension::number, "K");
        out.judge(
            "cold_exposure",
            "Coldest seen above the dew point",
            answer.margin,
            "K",
            s.margin_K,
            {},
            in.has("margin") ? "stated with the sum" : "10 to 15 K: common practice, no source",
            "After a cold spell: a day above 20 degC, roll, purge the regulator, then prove C6+ "
            "against its history.");
    }
    return out;
}

constexpr SumField line_fields[] = {
    {"gas", "composition file of the line gas", Dimension::number, "1", true, Form::gas},
    {"pressure", "highest of the line", Dimension::pressure, "bar", true},
    {"temperature", "of its coldest part", Dimension::temperature, "degC", true},
    {"margin", "K above the highest dew point (default 17)"},
    {"water", "water in the gas, for its dew point", Dimension::fraction, "ppm"},
    ambient,
};

Result<Sum> line(SumInputs const& in) {
    LineInputs l;
    l.gas = in.gases.find("gas")->second.second;
    l.pressure = in.of("pressure");
    l.temperature = in.of("temperature");
    l.margin_K = in.of("margin", 17).value;
    l.water = in.of("water").value;
    GW_TRY(auto const answer, line_margin(l));
    Sum out;
    out.warnings = answer.warnings;
    if (answer.dew) {
        out.add("dew_point",
                fmt::format("highest dew point, at {:.4g} bar", answer.dew->at_pa / 1e5),
                answer.dew->T,
                Dimension::temperature,
                "degC");
        out.add("margin", "coldest part less dew point", *answer.margin, Dimension::number, "K");
        out.judge("line_margin",
                  "Sample line above the hydrocarbon dew point",
                  answer.margin,
                  "K",
                  l.margin_K,
                  {},
                  in.has("margin") ? "stated with the sum" : "API MPMS 14.1 (from memory): 17 K");
    } else {
        out.warnings.emplace_back("This gas has no hydrocarbon dew point up to that pressure.");
    }
    if (answer.water_dew_K) {
        out.add("water_dew_point",
                "water dew point",
                {*answer.water_dew_K, 0},
                Dimension::temperature,
                "degC");
        out.results.back().exact = true;
        out.judge("water_margin",
                  "Sample line above the water dew point",
                  Measured{*answer.water_margin_K, 0},
                  "K",
                  0.0,
                  {},
                  "no condensation");
    }
    return out;
}

constexpr SumKind kinds[] = {
    {"carrier",
     "How long a carrier gas cylinder lasts",
     "n = p V/(Z R T) now less at the least pressure; time = n R T0/(p0 Q)",
     "real gas law, Z by GERG-2008 (ISO 20765-2); alarm at twice the lead time: common practice, "
     "no "
     "source",
     "gaswright bench carrier --gas helium --volume 50L --pressure 200bar --least 10bar --flow "
     "50mL/min --lead-time 14d",
     "Hydrogen burns unseen, and helium, argon and nitrogen leave no air to breathe: see bench "
     "shelter, and keep to local rules.",
     carrier_fields,
     carrier},
    {"cylinder",
     "How long a calibration gas cylinder lasts",
     "n = p V/(Z R T) now less at the least pressure, over calibrations x (runs x cycle x flow + "
     "purge) a day and what flows all day",
     "real gas law, Z by GERG-2008 (ISO 20765-2)",
     "gaswright bench cylinder --gas certificate.json --volume 10L --pressure 100bar --least 10bar "
     "--runs 6 --cycle 240s --run-flow 50mL/min --purge 1L",
     "Below the least pressure heavy components leave the walls and the certificate no longer "
     "holds.",
     cylinder_fields,
     cylinder},
    {"storage",
     "Least storage temperature of a cylinder",
     "highest dew point at any pressure up to that of the cylinder, and a margin",
     "Peng-Robinson 1978 and Soave-Redlich-Kwong, the higher of the two; margin 10 to 15 K: common "
     "practice, no source",
     "gaswright bench storage --gas certificate.json --pressure 60bar --coldest -5degC",
     "Never warm a cylinder with a flame; at most 50 degC, with a thermostat.",
     storage_fields,
     storage},
    {"line",
     "Margin of a sample line above condensation",
     "temperature of the coldest part less the highest dew point at any pressure up to that of the "
     "line",
     "Peng-Robinson 1978 and Soave-Redlich-Kwong; margin of 17 K: API MPMS 14.1 (from memory); "
     "water: "
     "ASTM D1142 correlation",
     "gaswright bench line --gas line.json --pressure 60barg --temperature 35degC",
     "",
     line_fields,
     line},
};

}  // namespace

std::span<SumKind const> stock_sums() { return kinds; }

}  // namespace gw::bench
