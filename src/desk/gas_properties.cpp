#include "desk/gas_properties.hpp"

#include <fmt/format.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "base/file.hpp"
#include "base/text.hpp"

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

}  // namespace

Result<GasProperties> gas_properties(std::string const& path, GasPropertiesOptions const& options) {
    auto const source = path == "-" ? std::string("standard input") : path;
    GW_TRY(auto const bytes, read_file(path));
    GW_TRY(auto const document, parse_json(bytes, source));
    GW_TRY(auto gas, gas::read_composition(document.root()));
    GW_TRY(auto const checked,
           gas::with_checked_total(
               std::move(gas), {.normalise = options.normalise}, source + ":components"));
    auto const& given = checked.first;

    GasProperties out;
    out.reference = options.reference;
    out.total = checked.second;
    if (out.total.normalised) {
        out.warnings.push_back(fmt::format(
            "The amounts added up to {:.6f} mol/mol and were normalised.", out.total.total));
    } else if (std::abs(out.total.total - 1.0) > total_rounding) {
        out.warnings.push_back(fmt::format(
            "The amounts add up to {:.6f} mol/mol and were used as they are.", out.total.total));
    }
    auto const usual_split = gas::default_characterisation();
    if (given.fraction(gas::c6_plus) > 0 && given.characterisation.parts.empty())
        out.warnings.push_back(fmt::format("The file does not say how C6+ is split: {} was taken.",
                                           usual_split.origin));
    auto values = gas::iso6976(gas::expanded(given, usual_split), options.reference);
    if (!values) {
        auto error = values.error();
        if (error.where == "composition") error.where = source + ":components";
        return pass_on(std::move(error));
    }
    out.values = *std::move(values);
    out.warnings.insert(out.warnings.end(), out.values.warnings.begin(), out.values.warnings.end());
    return out;
}

Json gas_properties_json(GasProperties const& properties) {
    auto const& reference = properties.reference;
    return Json{{"standard", "iso6976"},
                {"combustion_c", gas::in_celsius(reference.combustion)},
                {"metering_c", gas::in_celsius(reference.metering)},
                {"pressure_kpa", reference.pressure.si / 1e3},
                {"total", properties.total.total},
                {"normalised", properties.total.normalised},
                {"ideal", gas::group_json(properties.values.ideal)},
                {"real", gas::group_json(properties.values.real)},
                {"warnings", properties.warnings}};
}

std::string gas_properties_text(GasProperties const& properties) {
    auto const& reference = properties.reference;
    auto text = fmt::format(
        "ISO 6976:2016, combustion at {} degC, metering at {} degC and {} kPa\n"
        "Total of the amounts {:.6f} mol/mol, {}; u is a standard uncertainty (k = 1)\n\n"
        "{:<32}{:<9}{:>14}  {:>11}{:>14}  {:>11}\n",
        gas::in_celsius(reference.combustion),
        gas::in_celsius(reference.metering),
        reference.pressure.si / 1e3,
        properties.total.total,
        properties.total.normalised ? "normalised" : "used as given",
        "",
        "unit",
        "ideal gas",
        "u",
        "real gas",
        "u");
    for (auto const& row : gas::quantity_rows())
        text += fmt::format("{:<32}{:<9}{}{}\n",
                            row.title,
                            row.unit,
                            value_and_u(properties.values.ideal.*row.quantity),
                            value_and_u(properties.values.real.*row.quantity));
    return text;
}

}  // namespace gw::desk
