#include "gas/property_sums.hpp"

#include <cmath>

#include "gas/us_rows.hpp"
#include "gas_tables.hpp"

namespace gw::gas {

namespace table = generated;

std::string_view name(RealProperty property) {
    switch (property) {
        case RealProperty::gross_cv_volume:
            return "gross_cv_volume";
        case RealProperty::net_cv_volume:
            return "net_cv_volume";
        case RealProperty::gross_wobbe:
            return "gross_wobbe";
        case RealProperty::density:
            return "density";
        case RealProperty::relative_density:
            break;
    }
    return "relative_density";
}

std::string_view unit(RealProperty property) {
    switch (property) {
        case RealProperty::gross_cv_volume:
        case RealProperty::net_cv_volume:
        case RealProperty::gross_wobbe:
            return "MJ/m3";
        case RealProperty::density:
            return "kg/m3";
        case RealProperty::relative_density:
            break;
    }
    return "1";
}

template <class F>
Result<PropertySums> PropertySums::weighed(std::span<Component const> components,
                                           Characterisation const& heavy_end,
                                           F const& of_one) {
    PropertySums out;
    for (auto const c : components) {
        std::array<double, sums> w{};
        if (c == c6_plus) {
            if (heavy_end.parts.empty())
                return fail(Errc::bad_input,
                            "C6+ has no properties of its own.",
                            "characterisation",
                            "state how it is split");
            for (auto const& [part, share] : heavy_end.parts) {
                auto const one = of_one(part);
                for (std::size_t k = 0; k < sums; ++k) w[k] += share * one[k];
            }
        } else {
            w = of_one(c);
        }
        out.weights_.push_back(w);
    }
    return out;
}

Result<PropertySums> PropertySums::by_iso(std::span<Component const> components,
                                          Characterisation const& heavy_end,
                                          Iso6976Options const& options) {
    GW_CHECK(require_metering_pressure(options.pressure));
    auto const t1 = static_cast<std::size_t>(options.combustion);
    auto const t2 = static_cast<std::size_t>(options.metering);
    auto const of_one = [&](Component c) {
        auto const& row = table::components[c.index];
        double const half_hydrogen = 0.5 * row.atoms[static_cast<std::size_t>(Element::H)];
        return std::array<double, sums>{
            row.gross_cv[t1],
            row.gross_cv[t1] - table::latent_heat_of_water[t1].value * half_hydrogen,
            row.molar_mass,
            row.s[t2]};
    };
    GW_TRY(auto out, weighed(components, heavy_end, of_one));
    double const kelvin = in_kelvin(options.metering == MeteringTemperature::f60
                                        ? fahrenheit(60)
                                        : celsius(in_celsius(options.metering)));
    out.pressure_ratio_ = options.pressure.si / kilopascal(table::reference_pressure_kpa.value).si;
    out.ideal_volume_ = table::molar_gas_constant.value * kelvin / (options.pressure.si / 1e3);
    out.mass_of_air_ = table::molar_mass_of_air.value;
    out.z_of_air_ = 1.0 - out.pressure_ratio_ * (1.0 - table::compression_factor_of_air[t2].value);
    return out;
}

Result<PropertySums> PropertySums::by_gpa(std::span<Component const> components,
                                          Characterisation const& heavy_end,
                                          Gpa2172Options const& options) {
    GW_CHECK(require_base_pressure(options.base));
    for (auto const c : components)
        if (name(c) == "water")
            return fail(Errc::bad_input,
                        "GPA 2172 values the dry gas: water is no component of it.",
                        "components",
                        "take water out, or take iso6976");
    auto const table = us_table(options.base);
    auto const of_one = [&](Component c) {
        auto const row = us_row(c);
        // Volume sums are per ft3 at the table's pressure, so the mass is too.
        return std::array<double, sums>{
            row.gross_cv, row.net_cv, row.molar_mass / table.ideal_volume, row.s};
    };
    GW_TRY(auto out, weighed(components, heavy_end, of_one));
    out.pressure_ratio_ = table.pressure_ratio;
    out.ideal_volume_ = 1 / table.pressure_ratio;
    out.mass_of_air_ = table.mass_of_air / table.ideal_volume;
    out.z_of_air_ = table.z_of_air;
    return out;
}

Result<PropertySums> PropertySums::prepare(std::span<Component const> components,
                                           Characterisation const& heavy_end,
                                           Reference const& reference) {
    if (auto const* us = std::get_if<Gpa2172Options>(&reference))
        return by_gpa(components, heavy_end, *us);
    return by_iso(components, heavy_end, std::get<Iso6976Options>(reference));
}

// The formulae of iso6976.cpp for the real gas: V = Z R T / p, G = M Z_air / (M_air Z).
PropertySums::Values PropertySums::of(
    std::array<double, sums> const& s,
    std::array<std::array<double, sums>, real_property_count>* slopes) const {
    auto const [gross, net, mass, root] = s;
    double const Z = 1.0 - pressure_ratio_ * root * root;
    double const dZ = -2.0 * pressure_ratio_ * root;  // d Z / d root
    double const V = Z * ideal_volume_;
    double const G = mass / mass_of_air_ * (z_of_air_ / Z);
    double const root_G = std::sqrt(G);
    Values const v = {gross / V, net / V, gross / V / root_G, mass / V, G};
    if (slopes != nullptr) {
        double const z = dZ / Z;
        auto& d = *slopes;
        d[0] = {1 / V, 0, 0, -v[0] * z};
        d[1] = {0, 1 / V, 0, -v[1] * z};
        d[2] = {1 / (V * root_G), 0, -0.5 * v[2] / mass, -0.5 * v[2] * z};
        d[3] = {0, 0, 1 / V, -v[3] * z};
        d[4] = {0, 0, v[4] / mass, -v[4] * z};
    }
    return v;
}

PropertySums::Values PropertySums::values(std::span<double const> x) const {
    std::array<double, sums> s{};
    for (std::size_t i = 0; i < weights_.size(); ++i)
        for (std::size_t k = 0; k < sums; ++k) s[k] += x[i] * weights_[i][k];
    return of(s, nullptr);
}

PropertySums::Values PropertySums::values(std::span<double const> x,
                                          std::span<double> gradient) const {
    std::array<double, sums> s{};
    std::size_t const n = weights_.size();
    for (std::size_t i = 0; i < n; ++i)
        for (std::size_t k = 0; k < sums; ++k) s[k] += x[i] * weights_[i][k];
    std::array<std::array<double, sums>, real_property_count> d{};
    auto const v = of(s, &d);
    for (std::size_t p = 0; p < real_property_count; ++p)
        for (std::size_t i = 0; i < n; ++i) {
            double g = 0;
            for (std::size_t k = 0; k < sums; ++k) g += d[p][k] * weights_[i][k];
            gradient[p * n + i] = g;
        }
    return v;
}

}  // namespace gw::gas
