#include "desk/gas_compare.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "base/text.hpp"
#include "desk/gas_file.hpp"

namespace gw::desk {

namespace {

using gas::CombustionTemperature;
using gas::MeteringTemperature;

constexpr double mj_per_m3_of_btu_per_ft3 = 1.05505585262e-3 / 0.028316846592;

constexpr std::pair<CombustionTemperature, MeteringTemperature> iso_pairs[] = {
    {CombustionTemperature::c15, MeteringTemperature::c15},
    {CombustionTemperature::c25, MeteringTemperature::c0},
    {CombustionTemperature::c0, MeteringTemperature::c0},
    {CombustionTemperature::c15, MeteringTemperature::c0},
    {CombustionTemperature::c20, MeteringTemperature::c20},
    {CombustionTemperature::c25, MeteringTemperature::c20},
    {CombustionTemperature::c25, MeteringTemperature::c15},
    {CombustionTemperature::f60, MeteringTemperature::f60}};
constexpr double us_bases_psia[] = {14.65, 14.696, 14.73, 15.025};

void take_over(std::vector<std::string>& into, std::vector<std::string> const& more) {
    for (auto const& w : more)
        if (std::find(into.begin(), into.end(), w) == into.end()) into.push_back(w);
}

}  // namespace

Result<GasComparison> gas_compare(std::string const& path, bool normalise) {
    GW_TRY(auto const file, read_gas_file(path, normalise));
    GasComparison out;
    out.warnings = file.warnings;
    for (auto const& [combustion, metering] : iso_pairs) {
        gas::Iso6976Options const options{combustion, metering};
        auto const values = gas::iso6976(file.gas, options);
        if (!values) return pass_on(placed_in(file, values.error()));
        auto const& real = values->real;
        out.rows.push_back({options,
                            false,
                            real.gross_cv_volume,
                            real.gross_wobbe,
                            real.relative_density,
                            real.density,
                            real.gross_cv_volume.value,
                            0});
        take_over(out.warnings, values->warnings);
    }
    for (double const base : us_bases_psia) {
        gas::Gpa2172Options const options{gas::psia(base)};
        auto const values = gas::gpa2172(file.gas, options);
        if (!values) return pass_on(placed_in(file, values.error()));
        auto const& real = values->real;
        out.rows.push_back({options,
                            false,
                            real.gross_cv_volume,
                            real.gross_wobbe,
                            real.relative_density,
                            real.density,
                            real.gross_cv_volume.value * mj_per_m3_of_btu_per_ft3,
                            0});
        out.rows.push_back({options,
                            true,
                            real.gross_cv_volume_saturated,
                            real.gross_wobbe_saturated,
                            real.relative_density_saturated,
                            {},
                            real.gross_cv_volume_saturated.value * mj_per_m3_of_btu_per_ft3,
                            0});
        take_over(out.warnings, values->warnings);
    }
    double const first = out.rows.front().cv_mj_per_m3;
    for (auto& row : out.rows)
        row.percent_off = first > 0 ? 100 * (row.cv_mj_per_m3 / first - 1) : 0;
    return out;
}

Json gas_comparison_json(GasComparison const& comparison) {
    auto rows = Json::array();
    for (auto const& row : comparison.rows) {
        bool const us = std::holds_alternative<gas::Gpa2172Options>(row.reference);
        auto const unit = gas::cv_unit(row.reference);
        Json entry{{"standard", gas::standard_key(row.reference)},
                   {"combustion_c", gas::combustion_c(row.reference)},
                   {"metering_c", gas::metering_c(row.reference)},
                   {"pressure_kpa", gas::reference_pressure(row.reference).si / 1e3},
                   {"saturated", row.saturated},
                   {"gross_cv_volume", quantity_json(row.gross_cv_volume, unit)},
                   {"gross_wobbe", quantity_json(row.gross_wobbe, unit)},
                   {"relative_density", quantity_json(row.relative_density, "1")}};
        if (!row.saturated) entry["density"] = quantity_json(row.density, us ? "lb/ft3" : "kg/m3");
        entry["gross_cv_mj_per_m3"] = row.cv_mj_per_m3;
        entry["percent_off_first"] = row.percent_off;
        rows.push_back(std::move(entry));
    }
    return Json{{"rows", rows}, {"warnings", comparison.warnings}};
}

std::string gas_comparison_text(GasComparison const& comparison) {
    std::string out = fmt::format(
        "Real gas. Each calorific value belongs to a volume at its own conditions; the last "
        "column\ncompares it with the first row, per cubic metre of each.\n\n{:<44}{:>12} "
        "{:<8}{:>10}{:>12}{:>11}\n",
        "standard, burnt at / metered at",
        "gross CV",
        "",
        "rel. dens.",
        "MJ/m3",
        "off, %");
    for (auto const& row : comparison.rows) {
        auto const* us = std::get_if<gas::Gpa2172Options>(&row.reference);
        auto const title = us != nullptr ? fmt::format("GPA 2172, 60 degF, {:.3f} psia, {}",
                                                       gas::in_psia(us->base),
                                                       row.saturated ? "saturated" : "dry")
                                         : fmt::format("ISO 6976, {} / {} degC, 101.325 kPa",
                                                       gas::combustion_c(row.reference),
                                                       gas::metering_c(row.reference));
        out += fmt::format("{:<44}{:>12} {:<8}{:>10}{:>12}{:>11}\n",
                           title,
                           fixed(row.gross_cv_volume.value, us != nullptr ? 2 : 4),
                           gas::cv_unit(row.reference),
                           fixed(row.relative_density.value, 5),
                           fixed(row.cv_mj_per_m3, 4),
                           fixed(row.percent_off, 3));
    }
    return out;
}

}  // namespace gw::desk
