#include "desk/gas_properties.hpp"

#include <fmt/format.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "base/text.hpp"
#include "desk/gas_file.hpp"

namespace gw::desk {

namespace {

constexpr double total_rounding = 5e-6;  // mol/mol: five printed decimals of the larger amounts

// Decimals that show two digits of u; without u, five digits of an ordinary value.
int decimals_for(double u) {
    if (!(u > 0)) return 5;
    return std::clamp(1 - static_cast<int>(std::floor(std::log10(u))), 0, 9);
}

std::string value_and_u(Measured const& quantity) {
    int const decimals = decimals_for(quantity.u);
    auto const u = quantity.u > 0 ? fixed(quantity.u, decimals) : std::string("0");
    return fmt::format("{:>14}  {:>11}", fixed(quantity.value, decimals), u);
}

// One line a quantity, ideal and real.
template <class Rows, class Group>
std::string table(Rows const& rows, Group const& ideal, Group const& real) {
    std::string text;
    for (auto const& row : rows)
        text += fmt::format("{:<32}{:<10}{}{}\n",
                            row.title,
                            row.unit,
                            value_and_u(ideal.*row.quantity),
                            value_and_u(real.*row.quantity));
    return text;
}

}  // namespace

Result<GasProperties> gas_properties(std::string const& path, GasPropertiesOptions const& options) {
    GW_TRY(auto const file, read_gas_file(path, options.normalise));
    GasProperties out;
    out.reference = options.reference;
    out.total = file.total;
    out.warnings = file.warnings;
    if (!out.total.normalised && std::abs(out.total.total - 1.0) > total_rounding)
        out.warnings.insert(
            out.warnings.begin(),
            fmt::format("The amounts add up to {:.6f} mol/mol and were used as they are.",
                        out.total.total));
    auto values = gas::properties_of(file.gas, options.reference);
    if (!values) return pass_on(placed_in(file, values.error()));
    out.values = *std::move(values);
    auto const& of_values = gas::warnings_of(out.values);
    out.warnings.insert(out.warnings.end(), of_values.begin(), of_values.end());
    return out;
}

Json gas_properties_json(GasProperties const& properties) {
    auto const& reference = properties.reference;
    Json out{{"standard", gas::standard_key(reference)},
             {"combustion_c", gas::combustion_c(reference)},
             {"metering_c", gas::metering_c(reference)},
             {"pressure_kpa", gas::reference_pressure(reference).si / 1e3},
             {"total", properties.total.total},
             {"normalised", properties.total.normalised}};
    if (auto const* us = std::get_if<gas::Gpa2172>(&properties.values)) {
        out["pressure_psia"] = gas::in_psia(gas::reference_pressure(reference));
        out["ideal"] = gas::group_json(us->ideal);
        out["real"] = gas::group_json(us->real);
        out["gallons_per_thousand"] = Json::object();
        for (auto const& [component, gallons] : us->gallons_per_thousand)
            out["gallons_per_thousand"][std::string(gas::name(component))] =
                quantity_json(gallons, "gal/1000 ft3");
    } else {
        auto const& iso = std::get<gas::Iso6976>(properties.values);
        out["ideal"] = gas::group_json(iso.ideal);
        out["real"] = gas::group_json(iso.real);
    }
    out["warnings"] = properties.warnings;
    return out;
}

std::string gas_properties_text(GasProperties const& properties) {
    auto text = fmt::format(
        "{}\nTotal of the amounts {:.6f} mol/mol, {}; u is a standard uncertainty (k = 1)\n\n"
        "{:<32}{:<10}{:>14}  {:>11}{:>14}  {:>11}\n",
        gas::title_of(properties.reference),
        properties.total.total,
        properties.total.normalised ? "normalised" : "used as given",
        "",
        "unit",
        "ideal gas",
        "u",
        "real gas",
        "u");
    if (auto const* us = std::get_if<gas::Gpa2172>(&properties.values)) {
        text += table(gas::us_quantity_rows(), us->ideal, us->real);
        if (!us->gallons_per_thousand.empty()) text += "\nliquids in real dry gas, gal/1000 ft3\n";
        for (auto const& [component, gallons] : us->gallons_per_thousand)
            text += fmt::format("{:<32}{:>10}\n", gas::name(component), fixed(gallons.value, 4));
    } else {
        auto const& iso = std::get<gas::Iso6976>(properties.values);
        text += table(gas::quantity_rows(), iso.ideal, iso.real);
    }
    return text;
}

}  // namespace gw::desk
