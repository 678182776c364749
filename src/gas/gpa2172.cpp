#include "gas/gpa2172.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <nlohmann/json.hpp>

#include "base/text.hpp"
#include "gas/figure.hpp"
#include "gas/us_rows.hpp"
#include "gas_tables.hpp"
#include "us_tables.hpp"

namespace gw::gas {

namespace {

namespace us = generated::us;

// The sums every property is made of, over the dry gas.
enum Sum : std::size_t { gross, net, mass, root_deficit };
constexpr std::size_t sum_count = 4;
using Figure = FigureOf<sum_count>;

constexpr double joules_per_btu = 1055.05585262;                // international table, exact
constexpr double cubic_metres_per_cubic_foot = 0.028316846592;  // exact
constexpr double kilograms_per_pound = 0.45359237;              // exact
constexpr double base_temperature_K = (60 + 459.67) / 1.8;

// ft3 of ideal gas in a pound-mole at 60 degF and `base`.
double ideal_volume(Pressure base) {
    double const per_mole =
        generated::molar_gas_constant.value * base_temperature_K / base.si;  // m3
    return per_mole / cubic_metres_per_cubic_foot * 1000 * kilograms_per_pound;
}

struct Row {
    double molar_mass, gross_cv, s;
    bool listed;
};

// What GPA 2145 lists; else ISO 6976:2016 at 60 degF (its columns for 15.55 degC), which agrees
// with the listed rows to 0.2 Btu/ft3.
Row row_of(Component component) {
    auto const& row = us::components[component.index];
    if (row.listed) return {row.molar_mass, row.gross_cv, row.s, true};
    constexpr std::size_t f60 = 2;
    auto const& iso = generated::components[component.index];
    double const btu_per_lbmol = iso.gross_cv[f60] * 1e6 * kilograms_per_pound / joules_per_btu;
    return {iso.molar_mass, btu_per_lbmol / ideal_volume(psia(us::p_base)), iso.s[f60], false};
}

Component water() {
    static auto const component = *find_component("water");
    return component;
}

struct Sums {
    std::array<Figure, sum_count> figure;
    std::array<std::vector<double>, sum_count> per_fraction;  // to the fractions as given
    std::vector<Component> unlisted;
    double water_given = 0;
};

Sums sums_of(Composition const& gas) {
    Sums out;
    std::size_t const n = gas.x.size();
    for (auto& gradient : out.per_fraction) gradient.assign(n, 0.0);
    out.water_given = gas.fraction(water());
    double const dry = 1.0 / (1.0 - out.water_given);
    double const heat_of_water = us::components[water().index].gross_cv;
    std::array<double, sum_count> sum{};
    for (std::size_t i = 0; i < n; ++i) {
        auto const c = gas.components[i];
        if (c == water()) continue;
        auto const row = row_of(c);
        if (!row.listed && gas.x[i] > 0) out.unlisted.push_back(c);
        double const formed = 0.5 * atoms(c, Element::H);
        std::array<double, sum_count> const value{
            row.gross_cv, row.gross_cv - formed * heat_of_water, row.molar_mass, row.s};
        for (std::size_t k = 0; k < sum_count; ++k) {
            sum[k] += dry * gas.x[i] * value[k];
            out.per_fraction[k][i] = dry * value[k];
        }
    }
    for (std::size_t i = 0; i < n; ++i)  // more water makes the same dry amounts a larger share
        if (gas.components[i] == water())
            for (std::size_t k = 0; k < sum_count; ++k) out.per_fraction[k][i] = dry * sum[k];
    for (std::size_t k = 0; k < sum_count; ++k) {
        out.figure[k].value = sum[k];
        out.figure[k].d[k] = 1.0;
    }
    return out;
}

class Covariance {
  public:
    Covariance(Sums const& sums, SquareMatrix const& V) {
        if (V.empty()) return;
        std::size_t const n = V.size();
        std::vector<double> Vg(n);
        for (std::size_t b = 0; b < sum_count; ++b) {
            for (std::size_t i = 0; i < n; ++i) {
                double cell = 0;
                for (std::size_t j = 0; j < n; ++j) cell += V(i, j) * sums.per_fraction[b][j];
                Vg[i] = cell;
            }
            for (std::size_t a = 0; a < sum_count; ++a)
                for (std::size_t i = 0; i < n; ++i) cells_[a][b] += sums.per_fraction[a][i] * Vg[i];
        }
    }
    [[nodiscard]] Measured measured(Figure const& f) const {
        double variance = 0;
        for (std::size_t a = 0; a < sum_count; ++a)
            for (std::size_t b = 0; b < sum_count; ++b) variance += f.d[a] * cells_[a][b] * f.d[b];
        return {f.value, std::sqrt(std::max(variance, 0.0))};
    }

  private:
    std::array<std::array<double, sum_count>, sum_count> cells_{};
};

struct Basis {
    Figure Z, Z_saturated;
    double Z_air;
};

double water_fraction(Pressure base) { return us::p_water / in_psia(base); }

Basis ideal_basis() { return {{1.0, {}}, {1.0, {}}, 1.0}; }

Basis real_basis(Sums const& sums, Pressure base) {
    double const ratio = in_psia(base) / us::p_base;
    double const xw = water_fraction(base);
    auto const& s = sums.figure[root_deficit];
    auto const wet = xw * us::components[water().index].s + (1.0 - xw) * s;
    return {1.0 - ratio * (s * s),
            1.0 - ratio * (wet * wet),
            1.0 - us::b_air * us::b_air * in_psia(base)};
}

// GPA 2172: volume values at the base pressure from those of the table at 14.696 psia.
Figure volume_value(Figure const& sum, Figure const& Z, Pressure base) {
    return in_psia(base) / us::p_base * sum / Z;
}

Gpa2172Group group(Sums const& sums, Covariance const& V, Basis const& basis, Pressure base) {
    auto const& M = sums.figure[mass];
    double const V_table = ideal_volume(psia(us::p_base));
    auto const molar_gross = V_table * sums.figure[gross];
    auto const molar_net = V_table * sums.figure[net];
    auto const Hv = volume_value(sums.figure[gross], basis.Z, base);
    auto const Hv_net = volume_value(sums.figure[net], basis.Z, base);
    auto const G = basis.Z_air / us::M_air * M / basis.Z;
    double const xw = water_fraction(base);
    auto const Hv_wet = (1.0 - xw) * volume_value(sums.figure[gross], basis.Z_saturated, base);
    auto const M_wet = xw * us::components[water().index].molar_mass + (1.0 - xw) * M;
    auto const G_wet = basis.Z_air / us::M_air * M_wet / basis.Z_saturated;
    Gpa2172Group out;
    out.molar_mass = V.measured(M);
    out.compression_factor = V.measured(basis.Z);
    out.gross_cv_molar = V.measured(molar_gross);
    out.net_cv_molar = V.measured(molar_net);
    out.gross_cv_mass = V.measured(molar_gross / M);
    out.net_cv_mass = V.measured(molar_net / M);
    out.gross_cv_volume = V.measured(Hv);
    out.net_cv_volume = V.measured(Hv_net);
    out.density = V.measured(1.0 / ideal_volume(base) * M / basis.Z);
    out.relative_density = V.measured(G);
    out.gross_wobbe = V.measured(Hv / square_root(G));
    out.net_wobbe = V.measured(Hv_net / square_root(G));
    out.compression_factor_saturated = V.measured(basis.Z_saturated);
    out.gross_cv_volume_saturated = V.measured(Hv_wet);
    out.relative_density_saturated = V.measured(G_wet);
    out.gross_wobbe_saturated = V.measured(Hv_wet / square_root(G_wet));
    return out;
}

Result<> require_answerable(Composition const& gas, Pressure base) {
    GW_CHECK(require_base_pressure(base));
    for (auto const c : gas.components)
        if (c == c6_plus)
            return fail(Errc::bad_input,
                        "C6+ has no properties of its own.",
                        "composition",
                        "state how it is split");
    double const total = gas.total();
    if (!(total > 0 && std::isfinite(total)))
        return fail(
            Errc::bad_input, "The amounts add up to nothing.", "composition", "state the amounts");
    if (!(gas.fraction(water()) < 0.5 * total))
        return fail(Errc::out_of_range,
                    "Half of this gas or more is water; its dry part is no natural gas.",
                    "composition",
                    "check the amounts");
    return {};
}

Result<> require_real_gas(Figure const& Z) {
    if (Z.value > 0.9 && Z.value <= 1.0) return {};
    return fail(
        Errc::out_of_range,
        fmt::format(
            "The compression factor would be {:.4f}; the sum of GPA 2172 holds from 0.9 to 1.",
            Z.value),
        "composition",
        "this gas would not be a gas at the base conditions");
}

constexpr std::array<UsQuantityRow, 16> rows_of_group = {{
    {"molar_mass", "molar mass", "lb/lbmol", &Gpa2172Group::molar_mass},
    {"compression_factor", "compression factor", "1", &Gpa2172Group::compression_factor},
    {"gross_cv_molar", "gross heating value, molar", "Btu/lbmol", &Gpa2172Group::gross_cv_molar},
    {"net_cv_molar", "net heating value, molar", "Btu/lbmol", &Gpa2172Group::net_cv_molar},
    {"gross_cv_mass", "gross heating value, mass", "Btu/lb", &Gpa2172Group::gross_cv_mass},
    {"net_cv_mass", "net heating value, mass", "Btu/lb", &Gpa2172Group::net_cv_mass},
    {"gross_cv_volume", "gross heating value, dry", "Btu/ft3", &Gpa2172Group::gross_cv_volume},
    {"net_cv_volume", "net heating value, dry", "Btu/ft3", &Gpa2172Group::net_cv_volume},
    {"density", "density", "lb/ft3", &Gpa2172Group::density},
    {"relative_density", "relative density", "1", &Gpa2172Group::relative_density},
    {"gross_wobbe", "gross Wobbe index, dry", "Btu/ft3", &Gpa2172Group::gross_wobbe},
    {"net_wobbe", "net Wobbe index, dry", "Btu/ft3", &Gpa2172Group::net_wobbe},
    {"compression_factor_saturated",
     "compression factor, saturated",
     "1",
     &Gpa2172Group::compression_factor_saturated},
    {"gross_cv_volume_saturated",
     "gross heating value, saturated",
     "Btu/ft3",
     &Gpa2172Group::gross_cv_volume_saturated},
    {"relative_density_saturated",
     "relative density, saturated",
     "1",
     &Gpa2172Group::relative_density_saturated},
    {"gross_wobbe_saturated",
     "gross Wobbe index, saturated",
     "Btu/ft3",
     &Gpa2172Group::gross_wobbe_saturated},
}};

}  // namespace

UsRow us_row(Component component) {
    auto const row = row_of(component);
    double const formed = 0.5 * atoms(component, Element::H);
    return {row.molar_mass,
            row.gross_cv,
            row.gross_cv - formed * us::components[water().index].gross_cv,
            row.s};
}

UsTable us_table(Pressure base) {
    return {ideal_volume(psia(us::p_base)),
            in_psia(base) / us::p_base,
            us::M_air,
            1.0 - us::b_air * us::b_air * in_psia(base)};
}

Result<> require_base_pressure(Pressure base) {
    if (base >= kilopascal(80) && base <= kilopascal(120)) return {};
    return fail(Errc::out_of_range,
                fmt::format("{} kPa ({:.3f} psia) is no base pressure; 80 to 120 kPa are taken.",
                            base.si / 1e3,
                            in_psia(base)),
                "pressure_kpa",
                "take the contract's base, such as 14.73 psia = 101.560 kPa");
}

Result<Gpa2172> gpa2172(Composition const& gas, Gpa2172Options const& options) {
    GW_CHECK(require_answerable(gas, options.base));
    auto const sums = sums_of(gas);
    auto const real = real_basis(sums, options.base);
    GW_CHECK(require_real_gas(real.Z));
    Covariance const V(sums, gas.V);
    Gpa2172 out;
    out.ideal = group(sums, V, ideal_basis(), options.base);
    out.real = group(sums, V, real, options.base);
    out.water_fraction = water_fraction(options.base);
    double const dry = 1.0 / (1.0 - sums.water_given);
    for (std::size_t i = 0; i < gas.x.size(); ++i) {
        double const per_gallon = us::components[gas.components[i].index].gas_per_gallon;
        if (!(per_gallon > 0)) continue;
        double const per_fraction =
            1000 * dry * in_psia(options.base) / us::p_base / per_gallon / real.Z.value;
        out.gallons_per_thousand.emplace_back(
            gas.components[i],
            Measured{per_fraction * gas.x[i],
                     gas.V.empty() ? 0.0 : per_fraction * std::sqrt(std::max(gas.V(i, i), 0.0))});
    }
    if (sums.water_given > 0)
        out.warnings.push_back(
            fmt::format("The composition holds {:.4f} mol% water: it was taken out, dry is without "
                        "it, saturated holds {:.4f} mol%.",
                        100 * sums.water_given,
                        100 * out.water_fraction));
    if (!sums.unlisted.empty()) {
        std::vector<std::string> names;
        for (auto const c : sums.unlisted) names.emplace_back(name(c));
        out.warnings.push_back(
            fmt::format("GPA 2145 does not list {}: values of ISO 6976:2016 at 60 degF were taken.",
                        joined(names, ", ")));
    }
    out.warnings.emplace_back(
        gas.V.empty()
            ? "The composition states no uncertainties and GPA 2145 none for its tables: u is 0 "
              "throughout."
            : "GPA 2145 states no uncertainties of its tables: u holds the composition alone.");
    return out;
}

Result<CvGradient> gross_cv_volume_gradient(Composition const& gas, Gpa2172Options const& options) {
    GW_CHECK(require_answerable(gas, options.base));
    auto const sums = sums_of(gas);
    auto const basis = real_basis(sums, options.base);
    GW_CHECK(require_real_gas(basis.Z));
    auto const Hv = volume_value(sums.figure[gross], basis.Z, options.base);
    CvGradient out{{Hv.value, 0.0}, std::vector<double>(gas.x.size(), 0.0)};
    for (std::size_t i = 0; i < gas.x.size(); ++i)
        for (std::size_t k = 0; k < sum_count; ++k)
            out.per_fraction[i] += Hv.d[k] * sums.per_fraction[k][i];
    return out;
}

std::span<UsQuantityRow const> us_quantity_rows() { return rows_of_group; }

Json group_json(Gpa2172Group const& group) {
    auto out = Json::object();
    for (auto const& row : rows_of_group)
        out[std::string(row.key)] = quantity_json(group.*row.quantity, row.unit);
    return out;
}

}  // namespace gw::gas
