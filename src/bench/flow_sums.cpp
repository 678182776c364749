// What flows: leak, purge, lag, and gas in a room.
#include <fmt/format.h>

#include <cmath>

#include "base/text.hpp"
#include "bench/lag.hpp"
#include "bench/leak.hpp"
#include "bench/purge.hpp"
#include "bench/shelter.hpp"
#include "bench/sums.hpp"

namespace gw::bench {

namespace {

using Form = SumField::Form;

constexpr double usual_T = 293.15, usual_p = 101325;

constexpr SumField ambient{
    "ambient", "pressure of the air, for pressures written as gauge", Dimension::pressure, "kPa"};

constexpr SumField leak_fields[] = {
    {"volume", "volume that was shut in", Dimension::volume, "mL", true},
    {"p1",
     "pressure at the start, absolute or as barg, kPag, psig",
     Dimension::pressure,
     "kPa",
     true},
    {"p2", "pressure at the end", Dimension::pressure, "kPa", true},
    {"t1", "temperature of the gas at the start", Dimension::temperature, "degC"},
    {"t2", "temperature of the gas at the end", Dimension::temperature, "degC"},
    {"time", "time waited", Dimension::time, "min", true},
    {"limit", "largest leak allowed", Dimension::leak_rate, "mbar L/s"},
    ambient,
};

Result<Sum> leak(SumInputs const& in) {
    LeakTest const test{in.of("volume"),
                        in.of("p1"),
                        in.of("p2"),
                        in.optional("t1"),
                        in.optional("t2"),
                        in.of("time")};
    GW_TRY(auto const answer, leak_rate(test));
    Sum out;
    auto const add = [&](char const* key, char const* title, Measured si, char const* unit) {
        out.add(key, title, si, Dimension::leak_rate, unit);
    };
    if (answer.rate) {
        add("leak_rate", "leak rate, out above zero", *answer.rate, "mbar L/s");
        auto const T = test.T1->value;
        auto const times = [&](double f) {
            return Measured{answer.rate->value * f, answer.rate->u * f};
        };
        out.add("leak_rate_cm3_min",
                "the same as gas at 1.01325 bar and its own temperature",
                times(60e6 / usual_p),
                Dimension::number,
                "cm3/min");
        out.add("leak_rate_ncm3_min",
                "the same as gas at 1.01325 bar and 0 degC",
                times(60e6 / usual_p * 273.15 / T),
                Dimension::number,
                "cm3/min (0 degC)");
        out.add("leak_rate_mol_s", "the same in moles", *answer.molar, Dimension::number, "mol/s");
        out.add("fall_corrected",
                "fall of pressure with temperature taken out",
                *answer.fall,
                Dimension::number,
                "Pa");
        out.add("fall_by_temperature",
                "fall that the change of temperature makes",
                {*answer.cooling_fall, 0},
                Dimension::number,
                "Pa");
        add("threshold",
            "a reading above this shows a leak (5 % false)",
            {*answer.threshold, 0},
            "mbar L/s");
        add("least_detectable",
            "least leak this wait shows in 95 of 100 tests",
            {*answer.least_leak, 0},
            "mbar L/s");
        for (auto i = out.results.end() - 3; i != out.results.end(); ++i) i->exact = true;
        if (!(answer.rate->u > 0))
            out.warnings.emplace_back(
                "No uncertainty is stated: what this test could detect is not known. Write it "
                "behind each reading, as \"500 +- 0.2 kPa\".");
    } else {
        add("apparent_rate",
            "fall over time, temperature not known: no leak rate",
            answer.apparent,
            "mbar L/s");
        out.warnings.emplace_back(
            "Without both temperatures a fall may be cooling, and a leak may hide behind warming: "
            "1 K is 0.34 % of the pressure near 20 degC.");
    }
    if (auto const limit = in.optional("limit")) {
        constexpr double to_mbar_l = 10;
        std::optional<Measured> value;
        std::string note;
        if (answer.rate) {
            value = Measured{to_mbar_l * answer.rate->value, to_mbar_l * answer.rate->u};
            if (*answer.least_leak > limit->value)
                note = fmt::format(
                    "This wait cannot show so small a leak; {:.3g} min would, with the same "
                    "gauges.",
                    wait_for(test, limit->value) / 60);
        } else {
            note = "Both temperatures are needed.";
        }
        // A rise is a leak too: gas comes in from another source.
        out.judge("leak_rate",
                  "Leak rate by pressure decay",
                  value,
                  "mbar L/s",
                  -to_mbar_l * limit->value,
                  to_mbar_l * limit->value,
                  "stated with the test",
                  note);
    }
    return out;
}

constexpr SumField purge_fields[] = {
    {"from", "fraction that is there", Dimension::fraction, "1"},
    {"to", "fraction that may be left", Dimension::fraction, "1", true},
    {"volume", "by flow: volume that is purged", Dimension::volume, "mL"},
    {"flow", "by flow: gas that passes", Dimension::flow, "mL/min"},
    {"pressure",
     "by flow: pressure in the volume (default: that of the air)",
     Dimension::pressure,
     "kPa"},
    {"temperature",
     "by flow: temperature in the volume (default 20 degC)",
     Dimension::temperature,
     "degC"},
    {"reference_pressure",
     "pressure the flow is stated at (default 101.325 kPa)",
     Dimension::pressure,
     "kPa"},
    {"reference_temperature",
     "temperature the flow is stated at (default 20 degC)",
     Dimension::temperature,
     "degC"},
    {"time", "by flow: time it will be purged, to see what is left", Dimension::time, "min"},
    {"low", "by cycles: pressure after venting", Dimension::pressure, "bar"},
    {"high", "by cycles: pressure after filling", Dimension::pressure, "bar"},
    {"cycles", "by cycles: how many, to see what is left"},
    ambient,
};

Result<Sum> purge(SumInputs const& in) {
    bool const by_flow = in.has("volume") || in.has("flow"),
               by_cycles = in.has("low") || in.has("high");
    if (by_flow == by_cycles)
        return fail(Errc::bad_input,
                    "A purge is by flow (volume, flow) or by cycles (low, high), one of the two.",
                    by_flow ? "--low" : "--flow",
                    "give one pair");
    double const from = in.of("from", 1).value, to = in.of("to").value;
    Sum out;
    if (by_flow) {
        double const air = in.of("ambient", usual_p).value;
        FlowPurge const p{in.of("volume"),
                          in.of("flow"),
                          in.of("pressure", air),
                          in.of("temperature", usual_T),
                          in.of("reference_pressure", usual_p).value,
                          in.of("reference_temperature", usual_T).value,
                          from,
                          to,
                          in.of("time")};
        GW_TRY(auto const answer, purge_by_flow(p));
        out.add("volumes", "volumes that must pass", {answer.volumes, 0}, Dimension::number, "1");
        out.add("time", "time until it is so", answer.time, Dimension::time, "min");
        if (in.has("time"))
            out.add("left", "left after the time given", answer.left, Dimension::fraction, "ppm");
        return out;
    }
    double const cycles = in.of("cycles").value;
    if (cycles != std::floor(cycles) || cycles < 0 || cycles > 1e6)
        return fail(
            Errc::out_of_range, "Cycles are a whole number, at most a million.", "--cycles");
    CyclePurge const p{in.of("low"), in.of("high"), from, to, static_cast<int>(cycles)};
    GW_TRY(auto const answer, purge_by_cycles(p));
    out.add("cycles_exact", "cycles, not rounded", answer.exact, Dimension::number, "1");
    out.add(
        "cycles", "cycles needed", {static_cast<double>(answer.cycles), 0}, Dimension::number, "1");
    out.results.back().exact = true;
    out.add("left",
            cycles > 0 ? "left after the cycles given" : "left after them",
            answer.left,
            Dimension::fraction,
            "ppm");
    return out;
}

constexpr SumField section_fields[] = {
    {"length", "length of tubing", Dimension::length, "m"},
    {"bore", "inner diameter", Dimension::length, "mm"},
    {"volume", "volume, instead of length and bore", Dimension::volume, "mL"},
    {"pressure", "pressure at its inlet", Dimension::pressure, "bar", true},
    {"pressure_out", "pressure at its outlet (default: no drop)", Dimension::pressure, "bar"},
    {"temperature", "temperature (default 20 degC)", Dimension::temperature, "degC"},
    {"flow", "flow at the reference, where it differs", Dimension::flow, "L/min"},
    {"mixes", "1: a filter or drum that mixes"},
};

constexpr SumField lag_fields[] = {
    {"length", "length of tubing", Dimension::length, "m"},
    {"bore", "inner diameter", Dimension::length, "mm"},
    {"volume", "volume, instead of length and bore", Dimension::volume, "mL"},
    {"pressure", "pressure at the take-off", Dimension::pressure, "bar"},
    {"pressure_out",
     "pressure at the end of the line (default: no drop)",
     Dimension::pressure,
     "bar"},
    {"temperature", "temperature of the line (default 20 degC)", Dimension::temperature, "degC"},
    {"filter_volume", "volume that mixes, at the end's pressure", Dimension::volume, "mL"},
    {"loop_volume", "loops and valves, at the end's pressure", Dimension::volume, "mL"},
    {"flow", "flow at the reference", Dimension::flow, "L/min", true},
    {"reference_pressure",
     "pressure the flow is stated at (default 101.325 kPa)",
     Dimension::pressure,
     "kPa"},
    {"reference_temperature",
     "temperature the flow is stated at (default 0 degC)",
     Dimension::temperature,
     "degC"},
    {"cycle", "cycle of the analyser", Dimension::time, "s"},
    {"gas",
     "component or composition file, for its compression factor (default: ideal)",
     Dimension::number,
     "1",
     false,
     Form::gas},
    {"limit", "longest time allowed until 95 % of a change is there", Dimension::time, "s"},
    {"sections",
     "of a file: sections one after the other",
     Dimension::number,
     "1",
     false,
     Form::list,
     section_fields},
    ambient,
};

Result<LagSection> section_of(SumInputs const& in, SumInputs const& all, std::string name) {
    LagSection out;
    out.name = std::move(name);
    bool const tube = in.has("length") && in.has("bore");
    if (tube == in.has("volume"))
        return fail(Errc::bad_input,
                    fmt::format("{}: give a volume, or length and bore, one of the two.", out.name),
                    "--volume");
    out.volume = tube ? tube_volume(in.of("length"), in.of("bore")) : in.of("volume");
    if (!in.has("pressure"))
        return fail(
            Errc::bad_input, fmt::format("{}: its pressure is missing.", out.name), "--pressure");
    out.p_in = in.of("pressure");
    out.p_out = in.optional("pressure_out").value_or(out.p_in);
    out.temperature = in.of("temperature", all.of("temperature", usual_T).value);
    out.flow = in.has("flow") ? in.of("flow") : all.of("flow");
    out.mixes = in.of("mixes").value != 0;
    return out;
}

Result<Sum> lag(SumInputs const& in) {
    LagInputs inputs;
    inputs.reference_p = in.of("reference_pressure", usual_p).value;
    inputs.reference_T = in.of("reference_temperature", 273.15).value;
    inputs.cycle = in.of("cycle");
    if (auto const gas = in.gases.find("gas"); gas != in.gases.end())
        inputs.gas = gas->second.second;
    if (auto const list = in.lists.find("sections"); list != in.lists.end()) {
        for (auto const& one : list->second) {
            GW_TRY(auto section, section_of(one, in, one.name));
            inputs.sections.push_back(std::move(section));
        }
    } else {
        GW_TRY(auto line, section_of(in, in, "line"));
        auto const end = line.p_out, T = line.temperature, flow = line.flow;
        inputs.sections.push_back(std::move(line));
        if (in.has("filter_volume"))
            inputs.sections.push_back({"filter", in.of("filter_volume"), end, end, T, true, flow});
        if (in.has("loop_volume"))
            inputs.sections.push_back({"loops", in.of("loop_volume"), end, end, T, false, flow});
    }
    GW_TRY(auto const answer, sample_lag(inputs));
    Sum out;
    out.warnings = answer.warnings;
    for (std::size_t i = 0; i < answer.sections.size(); ++i) {
        auto const& s = answer.sections[i];
        out.add(fmt::format("section_{}", i + 1),
                fmt::format("{}: {} at {:.4g} kPa{}",
                            s.name,
                            inputs.sections[i].mixes ? "time constant" : "passage",
                            s.pressure / 1e3,
                            inputs.gas ? fmt::format(", Z/Z0 {:.4f}", s.Z) : ""),
                s.time,
                Dimension::time,
                "s");
    }
    out.add("lag", "first sign of a change", answer.plug, Dimension::time, "s");
    out.add("lag_95", "95 % of a change is there", answer.through_95, Dimension::time, "s");
    if (in.has("cycle")) {
        out.add("age_fresh", "age of a fresh value", answer.age_low, Dimension::time, "s");
        out.add("age_old", "age just before the next", answer.age_high, Dimension::time, "s");
    }
    if (auto const limit = in.optional("limit"))
        out.judge("sample_lag",
                  "Time until 95 % of a change is there",
                  answer.through_95,
                  "s",
                  {},
                  limit->value,
                  "stated with the sum");
    return out;
}

constexpr SumField shelter_fields[] = {
    {"room", "free volume of the room", Dimension::volume, "m3", true},
    {"released", "gas released at once, at the state of the room", Dimension::volume, "m3"},
    {"flow", "steady release", Dimension::flow, "L/min"},
    {"ventilation", "fresh air", Dimension::flow, "m3/h"},
    {"air_changes", "fresh air in changes an hour, instead"},
    {"time", "time of the steady release (default: until it settles)", Dimension::time, "min"},
    {"entry", "least oxygen to enter (default 19.5 %)", Dimension::fraction, "%"},
};

Result<Sum> shelter(SumInputs const& in) {
    if (in.has("ventilation") && in.has("air_changes"))
        return fail(Errc::bad_input, "Fresh air is stated twice.", "--air-changes", "keep one");
    ShelterInputs inputs;
    inputs.room = in.of("room");
    inputs.released = in.of("released");
    inputs.flow = in.of("flow");
    inputs.ventilation = in.of("ventilation");
    if (auto const changes = in.optional("air_changes"))
        inputs.ventilation = {
            changes->value * inputs.room.value / 3600,
            std::hypot(changes->u * inputs.room.value, changes->value * inputs.room.u) / 3600};
    inputs.time_s = in.of("time").value;
    inputs.entry = in.of("entry", 0.195).value;
    GW_TRY(auto const answer, oxygen_depletion(inputs));
    Sum out;
    auto const add = [&](char const* key, char const* title, Measured value) {
        out.add(key, title, value, Dimension::fraction, "%");
    };
    if (in.has("released")) add("oxygen_at_once", "oxygen after the release", answer.at_once);
    if (answer.steady) add("oxygen_steady", "oxygen when the flow has settled", *answer.steady);
    if (answer.at_time) add("oxygen_at_time", "oxygen after that time", *answer.at_time);
    if (answer.time_to_entry_s) {
        out.add("time_to_entry",
                "until oxygen is below the entry value",
                {*answer.time_to_entry_s, 0},
                Dimension::time,
                "min");
        out.results.back().exact = true;
    }
    out.judge("oxygen",
              "Oxygen in the room, well mixed",
              Measured{100 * answer.lowest.value, 100 * answer.lowest.u},
              "%",
              100 * inputs.entry,
              23.5,
              in.has("entry")
                  ? "stated with the sum"
                  : "European industrial-gas association Doc 44 (19.5 %); 23.5 %: common "
                    "practice, no source");
    return out;
}

constexpr SumKind kinds[] = {
    {"leak",
     "Leak rate by pressure decay, with both temperatures",
     "Q = V (p1 - p2 T1/T2)/t, absolute pressures; mol/s = V/R (p1/T1 - p2/T2)/t; least "
     "detectable 3.29 u(Q = 0)",
     "molar form: US 40 CFR 1065.644; detection limits: Currie 1968, ISO 11929",
     "gaswright bench leak --volume \"50 +- 2 mL\" --p1 \"5.000 +- 0.001 bar\" --p2 \"4.975 +- "
     "0.001 bar\" --t1 \"25.0 +- 0.1 degC\" --t2 \"23.75 +- 0.1 degC\" --time 15min --limit "
     "\"1e-3 mbar L/s\"",
     "A tight line is no proof that a source is shut. Keep to the permit, the site's rules and the "
     "maker's instructions.",
     leak_fields,
     leak},
    {"purge",
     "Purge by flow or by pressure cycles",
     "flow: C/C0 = exp(-Q t/V); cycles: C = C0 (p_low/p_high)^n, absolute pressures",
     "dilution of a stirred volume; cycles: common practice, no source",
     "gaswright bench purge --from 79% --to 10ppm --low 1bar --high 5bar     (or: --to 10ppm "
     "--volume 200mL --flow 50mL/min)",
     "Dead legs do not flush by flow: use cycles. Vent outside, and as the site's rules say.",
     purge_fields,
     purge},
    {"lag",
     "Age of the sample: from the take-off to the analyser",
     "t = V (p/p0)(T0/T)(Z0/Z)/Q0; with a drop p = 2/3 (p1^3 - p2^3)/(p1^2 - p2^2); a volume that "
     "mixes: 95 % after 3 V/Q more; age = lag + half a cycle to one and a half",
     "transport of a real gas (Z by GERG-2008); mean pressure of a gas line: standard formula; "
     "ages: common practice, no source",
     "gaswright bench lag --length 30m --bore 4mm --pressure 2barg --temperature 25degC --flow "
     "1L/min --cycle 240s",
     "",
     lag_fields,
     lag},
    {"shelter",
     "Oxygen left in a room after a release of gas",
     "at once: C = C0 exp(-Vg/V); flow: C = Cs + (C1 - Cs) exp(-(Qv + Qg) t/V), Cs = C0 Qv/(Qv + "
     "Qg)",
     "well-mixed room, 20.9 % in air; entry value 19.5 %: European industrial-gas association Doc "
     "44",
     "gaswright bench shelter --room 25m3 --released 8.84m3",
     "A room is not well mixed: near the leak, in pits and under ceilings there is less oxygen. A "
     "sum is no gas test: measure before and while anyone is inside. The site's permit and local "
     "rules go first.",
     shelter_fields,
     shelter},
};

}  // namespace

std::span<SumKind const> flow_sums() { return kinds; }

}  // namespace gw::bench
