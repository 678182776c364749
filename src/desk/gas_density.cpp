#include "desk/gas_density.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "base/text.hpp"
#include "desk/gas_file.hpp"
#include "gas/phase_stability.hpp"

namespace gw::desk {

namespace {

char const* name(Phase phase) {
    switch (phase) {
        case Phase::one:
            return "one";
        case Phase::split:
            return "split";
        case Phase::not_checked:
            return "not checked";
        case Phase::doubtful:
            break;
    }
    return "doubtful";
}

// Both wide-range equations give numbers inside the two-phase region without a word; a cubic
// equation sees the split. Its boundary is a degree or so from theirs, so a split is said, not
// refused.
Result<Phase> checked_phase(gas::Composition const& gas,
                            GasDensityOptions const& options,
                            std::vector<std::string>& warnings) {
    GW_TRY(auto const cubic, gas::cubic_gas(gas, gas::CubicEquation::peng_robinson));
    auto const stability =
        gas::phase_stability(cubic.mixture, cubic.z, options.temperature, options.pressure);
    if (!stability.stable) {
        warnings.emplace_back(
            "By the Peng-Robinson equation this state is split into gas and liquid: the figures "
            "are those of one even fluid that is not there.");
        return Phase::split;
    }
    if (!stability.settled) {
        warnings.emplace_back(
            "The phase check ran out of iterations: the state may lie at the phase boundary.");
        return Phase::doubtful;
    }
    return Phase::one;
}

void warn_of_range(GasDensity& out) {
    auto const equation = gas::name(out.asked.equation);
    if (out.range == gas::ValidityRange::outside)
        out.warnings.push_back(fmt::format(
            "The state is outside the published range of {}: nobody vouches for the figures.",
            equation));
    else if (out.range == gas::ValidityRange::extended)
        out.warnings.push_back(
            fmt::format("The state is in the extended range of {}: the uncertainty is larger than "
                        "in the normal range.",
                        equation));
}

}  // namespace

Result<GasDensity> gas_density(std::string const& path, GasDensityOptions const& options) {
    GW_TRY(auto const file, read_gas_file(path, options.normalise));
    GasDensity out;
    out.asked = options;
    out.warnings = file.warnings;
    auto const ready = gas::prepared(file.gas, options.equation);
    if (!ready) return pass_on(placed_in(file, ready.error()));
    out.warnings.insert(out.warnings.end(), ready->warnings.begin(), ready->warnings.end());
    GW_TRY(out.state, gas::fluid_state(*ready, options.temperature, options.pressure));
    out.molar_mass = ready->molar_mass;
    out.range = gas::validity_range(options.equation, options.temperature, options.pressure);
    warn_of_range(out);
    out.phase = Phase::not_checked;
    if (options.check_phase) {
        if (auto const phase = checked_phase(file.gas, options, out.warnings))
            out.phase = *phase;
        else
            out.warnings.push_back("The phase was not checked: " + phase.error().what);
    }
    return out;
}

Json gas_density_json(GasDensity const& density) {
    auto const& s = density.state;
    return Json{{"eos", gas::name(density.asked.equation)},
                {"temperature_k", in_kelvin(density.asked.temperature)},
                {"pressure_kpa", density.asked.pressure.si / 1e3},
                {"molar_density", s.molar_density},
                {"density", s.density},
                {"compression_factor", s.compression_factor},
                {"speed_of_sound", s.speed_of_sound},
                {"molar_mass", density.molar_mass},
                {"cv", s.cv},
                {"cp", s.cp},
                {"joule_thomson", s.joule_thomson},
                {"isentropic_exponent", s.isentropic_exponent},
                {"enthalpy", s.enthalpy},
                {"entropy", s.entropy},
                {"range", gas::name(density.range)},
                {"phase", name(density.phase)},
                {"warnings", density.warnings}};
}

std::string gas_density_text(GasDensity const& density) {
    auto const& s = density.state;
    auto const& asked = density.asked;
    std::string out = fmt::format(
        "{} at {} degC and {} kPa, {} range, phases: {}\n\n",
        asked.equation == gas::WideRangeEquation::gerg2008 ? "GERG-2008" : "AGA 8 DETAIL",
        shortest(in_celsius(asked.temperature)),
        shortest(asked.pressure.si / 1e3),
        gas::name(density.range),
        name(density.phase));
    auto const row = [&](char const* title, double value, int decimals, char const* unit) {
        out += fmt::format("{:<28}{:>16}  {}\n", title, fixed(value, decimals), unit);
    };
    row("density", s.density, 5, "kg/m3");
    row("molar density", s.molar_density, 6, "mol/dm3");
    row("compression factor", s.compression_factor, 6, "1");
    row("speed of sound", s.speed_of_sound, 3, "m/s");
    row("cv", s.cv, 4, "J/(mol K)");
    row("cp", s.cp, 4, "J/(mol K)");
    row("Joule-Thomson coefficient", s.joule_thomson * 1e3, 4, "K/MPa");
    row("isentropic exponent", s.isentropic_exponent, 5, "1");
    row("enthalpy", s.enthalpy, 2, "J/mol");
    row("entropy", s.entropy, 4, "J/(mol K)");
    row("molar mass", density.molar_mass, 5, "kg/kmol");
    return out;
}

}  // namespace gw::desk
