#include "gas/equation_of_state.hpp"

#include <fmt/format.h>

#include <cmath>

#include "base/text.hpp"
#include "gas/density_root.hpp"
#include "gas/detail.hpp"
#include "gas/gerg2008.hpp"
#include "gas/ideal_gas.hpp"
#include "gas_tables.hpp"
#include "gerg_tables.hpp"

namespace gw::gas {

namespace {

constexpr double total_rounding = 5e-6;  // mol/mol: five printed decimals of the larger amounts

Result<> require_state(Temperature T, Pressure p) {
    if (!(T.si > 0 && std::isfinite(T.si)))
        return fail(Errc::bad_input,
                    fmt::format("{:.6g} degC is no temperature.", in_celsius(T)),
                    "temperature_c",
                    "give a temperature above absolute zero");
    if (!(p.si > 0 && std::isfinite(p.si)))
        return fail(Errc::bad_input,
                    fmt::format("{:.6g} kPa is no pressure.", p.si / 1e3),
                    "pressure_kpa",
                    "give an absolute pressure above zero");
    return {};
}

Isotherm isotherm_of(WideRangeMixture const& mixture, double T) {
    return {mixture.terms, mixture.reducing_temperature / T};
}

}  // namespace

std::string_view name(WideRangeEquation equation) {
    return equation == WideRangeEquation::gerg2008 ? "gerg2008" : "detail";
}

std::optional<WideRangeEquation> wide_range_equation(std::string_view text) {
    for (auto const e : {WideRangeEquation::gerg2008, WideRangeEquation::detail})
        if (name(e) == text) return e;
    return std::nullopt;
}

std::string_view name(ValidityRange range) {
    switch (range) {
        case ValidityRange::normal:
            return "normal";
        case ValidityRange::extended:
            return "extended";
        case ValidityRange::outside:
            break;
    }
    return "outside";
}

ValidityRange validity_range(WideRangeEquation equation, Temperature T, Pressure p) {
    auto const within = [&](double low_K, double high_K, double high_MPa) {
        return T.si >= low_K && T.si <= high_K && p.si <= high_MPa * 1e6;
    };
    bool const gerg = equation == WideRangeEquation::gerg2008;
    if (gerg ? within(90, 450, 35) : within(250, 350, 12)) return ValidityRange::normal;
    if (gerg ? within(60, 700, 70) : within(143.15, 676.15, 70)) return ValidityRange::extended;
    return ValidityRange::outside;
}

Result<PreparedGas> prepared(Composition const& gas, WideRangeEquation equation) {
    double const total = gas.total();
    if (!(total > 0 && std::isfinite(total)))
        return fail(
            Errc::bad_input, "The amounts add up to nothing.", "composition", "state the amounts");
    PreparedGas out;
    out.equation = equation;
    EquationFractions x{};
    std::vector<std::string> stand_ins;
    double mass_of_others = 0;  // what the true components weigh more than their stand-ins
    auto const& names = generated::names;
    for (std::size_t i = 0; i < gas.x.size(); ++i) {
        auto const c = gas.components[i];
        if (!(gas.x[i] >= 0))
            return fail(Errc::bad_input,
                        fmt::format("The amount of {} is negative.", name(c)),
                        "composition",
                        "correct it");
        if (c == c6_plus)
            return fail(Errc::bad_input,
                        "C6+ has no properties of its own.",
                        "composition",
                        "state how it is split");
        auto const& place = generated::gerg::places[c.index];
        double const share = gas.x[i] / total;
        x[place.index] += share;
        if (place.itself || share == 0) continue;
        std::size_t other = 0;
        while (generated::gerg::places[other].index != place.index ||
               !generated::gerg::places[other].itself)
            ++other;
        stand_ins.push_back(fmt::format("{} as {}", name(c), names[other]));
        mass_of_others += share * (generated::components[c.index].molar_mass -
                                   generated::components[other].molar_mass);
    }
    out.mixture = equation == WideRangeEquation::gerg2008 ? gerg2008_mixture(x) : detail_mixture(x);
    out.molar_mass = out.mixture.molar_mass + mass_of_others;
    if (!stand_ins.empty())
        out.warnings.push_back(fmt::format(
            "The equation lacks some components, counted as others by the rule of ISO 12213-2: {}.",
            joined(stand_ins, ", ")));
    if (std::abs(total - 1) > total_rounding)
        out.warnings.push_back(
            fmt::format("The amounts add up to {:.6f} mol/mol and were scaled to one.", total));
    return out;
}

Result<double> molar_density(PreparedGas const& gas, Temperature T, Pressure p) {
    GW_CHECK(require_state(T, p));
    auto const isotherm = isotherm_of(gas.mixture, T.si);
    auto const root = density_root(gas.mixture, isotherm, T.si, p.si / 1e3);
    switch (root.search) {
        case RootSearch::found:
            return root.rho;
        case RootSearch::none:
            return fail(Errc::out_of_range,
                        fmt::format("{} has no density for this gas at {:.2f} K and {:.6g} kPa.",
                                    name(gas.equation),
                                    T.si,
                                    p.si / 1e3),
                        "pressure_kpa",
                        "take a state inside the range of the equation");
        case RootSearch::not_settled:
            break;
    }
    return fail(
        Errc::out_of_range,
        fmt::format(
            "The density at {:.2f} K and {:.6g} kPa could not be settled.", T.si, p.si / 1e3),
        "pressure_kpa",
        "take a state farther from the critical point");
}

FluidState state_at_density(PreparedGas const& gas, Temperature T, double rho) {
    auto const& mixture = gas.mixture;
    double const R = mixture.R, RT = R * T.si;
    auto const A = isotherm_of(mixture, T.si).all_at(rho / mixture.reducing_density);
    auto const ideal = ideal_gas(mixture.x, T.si, R);
    double const Z = 1 + A.density.A1;
    double const slope = Z + A.density.A2;    // dp/drho over RT
    double const pressure_of_T = Z - A.T1D1;  // dp/dT over rho R
    double const T2 = A.T2 - A.T1;            // tau^2 d2 alpha_r / d tau2
    FluidState out;
    out.molar_density = rho;
    out.density = rho * gas.molar_mass;
    out.compression_factor = Z;
    out.pressure_kpa = rho * RT * Z;
    out.dp_drho = RT * slope;
    out.dp_dT = rho * R * pressure_of_T;
    out.d2p_drho2 = RT * (A.density.A2 + A.density.A3) / rho;
    double const alpha = ideal.alpha + std::log(rho) + A.density.A0;
    double const u = ideal.alpha_t + A.T1;
    out.internal_energy = RT * u;
    out.enthalpy = RT * (u + Z);
    out.gibbs_energy = RT * (alpha + Z);
    out.entropy = R * (u - alpha);
    out.cv = R * (ideal.cv - T2);
    out.cp = out.cv + R * pressure_of_T * pressure_of_T / slope;
    double const square = 1000 / gas.molar_mass * out.cp / out.cv * out.dp_drho;
    out.speed_of_sound = square >= 0 ? std::sqrt(square) : std::nan("");
    out.joule_thomson = (T.si * out.dp_dT / (rho * out.dp_drho) - 1) / (rho * out.cp);
    out.isentropic_exponent = out.cp / out.cv * slope / Z;
    return out;
}

Result<FluidState> fluid_state(PreparedGas const& gas, Temperature T, Pressure p) {
    GW_TRY(double const rho, molar_density(gas, T, p));
    auto const state = state_at_density(gas, T, rho);
    if (state.cv > 0 && state.dp_drho > 0 && state.speed_of_sound > 0) return state;
    return fail(Errc::out_of_range,
                fmt::format("At {:.2f} K and {:.6g} kPa {} describes no fluid that could exist: "
                            "its heat capacity or compressibility is negative.",
                            T.si,
                            p.si / 1e3,
                            name(gas.equation)),
                "temperature_c",
                "take a state inside the range of the equation");
}

}  // namespace gw::gas
