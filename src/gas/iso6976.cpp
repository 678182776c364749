#include "gas/iso6976.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <nlohmann/json.hpp>

#include "gas/figure.hpp"
#include "gas_tables.hpp"

namespace gw::gas {

namespace {

namespace table = generated;

// The seven figures every property is made of. The first four depend on composition and property
// tables and are correlated through both; the rest are constants.
enum Block : std::size_t {
    gross_molar,
    net_molar,
    mass,
    root_deficit,
    gas_constant,
    air_mass,
    air_z
};
constexpr std::size_t of_composition = 4;
constexpr std::size_t block_count = 7;
using Figure = FigureOf<block_count>;
Figure constant(double value) { return {value, {}}; }

double kelvin_of(MeteringTemperature t) {
    switch (t) {
        case MeteringTemperature::c0:
            return in_kelvin(celsius(0));
        case MeteringTemperature::c15:
            return in_kelvin(celsius(15));
        case MeteringTemperature::f60:
            return in_kelvin(fahrenheit(60));
        case MeteringTemperature::c20:
            return in_kelvin(celsius(20));
    }
    return in_kelvin(celsius(15));
}

/// The blocks of one gas: values, and what the covariance of the blocks is made of.
struct Blocks {
    std::array<Figure, block_count> figure;
    std::array<std::vector<double>, of_composition> per_fraction;  ///< d block / d x_i
    std::array<double, block_count * block_count> covariance{};

    double& covariance_of(std::size_t a, std::size_t b) { return covariance[a * block_count + b]; }
    [[nodiscard]] double u(Figure const& f) const {
        // The constants are correlated with nothing; the rest is symmetric.
        double variance = 0.0;
        for (std::size_t a = 0; a < of_composition; ++a) {
            double row = 0.5 * covariance[a * block_count + a] * f.d[a];
            for (std::size_t b = a + 1; b < of_composition; ++b)
                row += covariance[a * block_count + b] * f.d[b];
            variance += 2.0 * f.d[a] * row;
        }
        for (std::size_t a = of_composition; a < block_count; ++a)
            variance += f.d[a] * covariance[a * block_count + a] * f.d[a];
        return std::sqrt(std::max(variance, 0.0));
    }
    [[nodiscard]] Measured measured(Figure const& f) const { return {f.value, u(f)}; }
};

enum class Uncertainty { tables_alone, tables_and_composition };

/// ISO 6976:2016: sums of clauses 5 to 9 and the table terms of Annex B.
Blocks blocks_of(Composition const& gas, Iso6976Options const& options, Uncertainty which) {
    auto const t1 = static_cast<std::size_t>(options.combustion);
    auto const t2 = static_cast<std::size_t>(options.metering);
    auto const L0 = table::latent_heat_of_water[t1];
    static auto const water = *find_component("water");
    std::size_t const n = gas.x.size();

    Blocks out;
    std::array<double, of_composition> sum{};
    for (auto& gradient : out.per_fraction) gradient.resize(n);
    std::array<double, element_count> atoms_of{};  // sum of x_j n_je
    double cv_variance = 0.0;                      // of the components other than water
    double s_variance = 0.0;
    double x_water = 0.0;
    for (std::size_t j = 0; j < n; ++j) {
        auto const& row = table::components[gas.components[j].index];
        double const x = gas.x[j];
        double const half_hydrogen = 0.5 * row.atoms[static_cast<std::size_t>(Element::H)];
        out.per_fraction[gross_molar][j] = row.gross_cv[t1];
        out.per_fraction[net_molar][j] = row.gross_cv[t1] - L0.value * half_hydrogen;
        out.per_fraction[mass][j] = row.molar_mass;
        out.per_fraction[root_deficit][j] = row.s[t2];
        for (std::size_t b = 0; b < of_composition; ++b) sum[b] += x * out.per_fraction[b][j];
        for (std::size_t e = 0; e < element_count; ++e) atoms_of[e] += x * row.atoms[e];
        s_variance += x * x * row.u_s * row.u_s;
        if (gas.components[j] == water)
            x_water = x;
        else
            cv_variance += x * x * row.u_gross_cv * row.u_gross_cv;
    }

    for (std::size_t b = 0; b < block_count; ++b) out.figure[b].d[b] = 1.0;
    for (std::size_t b = 0; b < of_composition; ++b) out.figure[b].value = sum[b];
    double const ratio = options.pressure.si / kilopascal(table::reference_pressure_kpa.value).si;
    auto const Z_air = table::compression_factor_of_air[t2];
    out.figure[gas_constant].value = table::molar_gas_constant.value;
    out.figure[air_mass].value = table::molar_mass_of_air.value;
    out.figure[air_z].value = 1.0 - ratio * (1.0 - Z_air.value);

    // Composition: V through the four gradients.
    if (which == Uncertainty::tables_and_composition && !gas.V.empty()) {
        // One pass over V serves all four: their gradients side by side in one row a component.
        std::vector<std::array<double, of_composition>> g(n);
        for (std::size_t j = 0; j < n; ++j)
            for (std::size_t b = 0; b < of_composition; ++b) g[j][b] = out.per_fraction[b][j];
        for (std::size_t i = 0; i < n; ++i) {
            std::array<double, of_composition> Vg{};
            double const* row = gas.V.cells().data() + i * n;
            for (std::size_t j = 0; j < n; ++j)
                for (std::size_t b = 0; b < of_composition; ++b) Vg[b] += row[j] * g[j][b];
            for (std::size_t a = 0; a < of_composition; ++a)
                for (std::size_t b = 0; b < of_composition; ++b)
                    out.covariance_of(a, b) += g[i][a] * Vg[b];
        }
    }

    // Calorific values: one error a component, shared by gross and net. The error of the water row
    // is the error of L0 itself, so that both meet in one coefficient.
    double const hydrogen = 0.5 * atoms_of[static_cast<std::size_t>(Element::H)];
    double const gross_L0 = x_water;
    double const net_L0 = x_water - hydrogen;
    double const L0_variance = L0.u * L0.u;
    out.covariance_of(gross_molar, gross_molar) += cv_variance + gross_L0 * gross_L0 * L0_variance;
    out.covariance_of(net_molar, net_molar) += cv_variance + net_L0 * net_L0 * L0_variance;
    double const shared = cv_variance + gross_L0 * net_L0 * L0_variance;
    out.covariance_of(gross_molar, net_molar) += shared;
    out.covariance_of(net_molar, gross_molar) += shared;
    out.covariance_of(root_deficit, root_deficit) += s_variance;
    for (std::size_t e = 0; e < element_count; ++e) {  // components share their atoms' errors
        double const term = atoms_of[e] * table::atomic_mass[e].u;
        out.covariance_of(mass, mass) += term * term;
    }
    auto const variance = [](double u) { return u * u; };
    out.covariance_of(gas_constant, gas_constant) = variance(table::molar_gas_constant.u);
    out.covariance_of(air_mass, air_mass) = variance(table::molar_mass_of_air.u);
    out.covariance_of(air_z, air_z) = variance(ratio * Z_air.u);
    return out;
}

struct VolumeBasis {
    Figure Z;       ///< of the gas
    Figure Z_air;   ///< of dry air
    Figure volume;  ///< molar volume, m3/kmol
};

VolumeBasis ideal_basis(Blocks const& blocks, Iso6976Options const& options) {
    // R in J/(mol K), T in K, p in kPa: dm3/mol, which is m3/kmol
    double const T_over_p = kelvin_of(options.metering) / (options.pressure.si / 1e3);
    return {constant(1.0), constant(1.0), T_over_p * blocks.figure[gas_constant]};
}

VolumeBasis real_basis(Blocks const& blocks, Iso6976Options const& options) {
    double const ratio = options.pressure.si / kilopascal(table::reference_pressure_kpa.value).si;
    auto const& s = blocks.figure[root_deficit];
    auto const Z = 1.0 - ratio * (s * s);  // the sum is squared with its sign
    return {Z, blocks.figure[air_z], Z * ideal_basis(blocks, options).volume};
}

Iso6976Group group(Blocks const& blocks, VolumeBasis const& basis) {
    auto const& Hc_gross = blocks.figure[gross_molar];
    auto const& Hc_net = blocks.figure[net_molar];
    auto const& M = blocks.figure[mass];
    auto const Hv_gross = Hc_gross / basis.volume;
    auto const Hv_net = Hc_net / basis.volume;
    auto const G = M / blocks.figure[air_mass] * (basis.Z_air / basis.Z);
    auto const root_G = square_root(G);
    Iso6976Group out;
    out.molar_mass = blocks.measured(M);
    out.compression_factor = blocks.measured(basis.Z);
    out.gross_cv_molar = blocks.measured(Hc_gross);
    out.net_cv_molar = blocks.measured(Hc_net);
    out.gross_cv_mass = blocks.measured(Hc_gross / M);
    out.net_cv_mass = blocks.measured(Hc_net / M);
    out.gross_cv_volume = blocks.measured(Hv_gross);
    out.net_cv_volume = blocks.measured(Hv_net);
    out.density = blocks.measured(M / basis.volume);
    out.relative_density = blocks.measured(G);
    out.gross_wobbe = blocks.measured(Hv_gross / root_G);
    out.net_wobbe = blocks.measured(Hv_net / root_G);
    return out;
}

Result<> require_answerable(Composition const& gas, Iso6976Options const& options) {
    GW_CHECK(require_metering_pressure(options.pressure));
    for (auto const component : gas.components)
        if (component == c6_plus)
            return fail(Errc::bad_input,
                        "C6+ has no properties of its own.",
                        "composition",
                        "state how it is split");
    double const total = gas.total();
    if (!(total > 0 && std::isfinite(total)))
        return fail(
            Errc::bad_input, "The amounts add up to nothing.", "composition", "state the amounts");
    return {};
}

Result<> require_real_gas(Figure const& Z) {
    // ISO 6976:2016 asks for Z above 0.9: below, too much water or heavy ends make the sum
    // meaningless.
    if (Z.value > 0.9 && Z.value <= 1.0) return {};
    return fail(
        Errc::out_of_range,
        fmt::format(
            "The compression factor would be {:.4f}; the formula of ISO 6976 holds from 0.9 to 1.",
            Z.value),
        "composition",
        "this gas would not be a gas at the metering conditions");
}

constexpr std::array<QuantityRow, 12> rows_of_group = {{
    {"molar_mass", "molar mass", "kg/kmol", &Iso6976Group::molar_mass},
    {"compression_factor", "compression factor", "1", &Iso6976Group::compression_factor},
    {"gross_cv_molar", "gross calorific value, molar", "kJ/mol", &Iso6976Group::gross_cv_molar},
    {"net_cv_molar", "net calorific value, molar", "kJ/mol", &Iso6976Group::net_cv_molar},
    {"gross_cv_mass", "gross calorific value, mass", "MJ/kg", &Iso6976Group::gross_cv_mass},
    {"net_cv_mass", "net calorific value, mass", "MJ/kg", &Iso6976Group::net_cv_mass},
    {"gross_cv_volume", "gross calorific value, volume", "MJ/m3", &Iso6976Group::gross_cv_volume},
    {"net_cv_volume", "net calorific value, volume", "MJ/m3", &Iso6976Group::net_cv_volume},
    {"density", "density", "kg/m3", &Iso6976Group::density},
    {"relative_density", "relative density", "1", &Iso6976Group::relative_density},
    {"gross_wobbe", "gross Wobbe index", "MJ/m3", &Iso6976Group::gross_wobbe},
    {"net_wobbe", "net Wobbe index", "MJ/m3", &Iso6976Group::net_wobbe},
}};

// 60 degF is 15.5556 degC; people write it with two decimals, cut or rounded.
bool is_sixty_fahrenheit(double degrees_c) { return degrees_c >= 15.55 && degrees_c <= 15.56; }

}  // namespace

Result<CombustionTemperature> combustion_temperature(double degrees_c) {
    if (degrees_c == 0) return CombustionTemperature::c0;
    if (degrees_c == 15) return CombustionTemperature::c15;
    if (is_sixty_fahrenheit(degrees_c)) return CombustionTemperature::f60;
    if (degrees_c == 20) return CombustionTemperature::c20;
    if (degrees_c == 25) return CombustionTemperature::c25;
    return fail(Errc::bad_input,
                fmt::format("ISO 6976 has no calorific values at {} degC.", degrees_c),
                "combustion_c",
                "take 0, 15, 15.55, 20 or 25");
}

Result<MeteringTemperature> metering_temperature(double degrees_c) {
    if (degrees_c == 0) return MeteringTemperature::c0;
    if (degrees_c == 15) return MeteringTemperature::c15;
    if (is_sixty_fahrenheit(degrees_c)) return MeteringTemperature::f60;
    if (degrees_c == 20) return MeteringTemperature::c20;
    return fail(Errc::bad_input,
                fmt::format("ISO 6976 has no summation factors at {} degC.", degrees_c),
                "metering_c",
                "take 0, 15, 15.55 or 20");
}

double in_celsius(CombustionTemperature t) {
    switch (t) {
        case CombustionTemperature::c0:
            return 0;
        case CombustionTemperature::c15:
            return 15;
        case CombustionTemperature::f60:
            return 15.55;
        case CombustionTemperature::c20:
            return 20;
        case CombustionTemperature::c25:
            return 25;
    }
    return 15;
}

double in_celsius(MeteringTemperature t) {
    switch (t) {
        case MeteringTemperature::c0:
            return 0;
        case MeteringTemperature::c15:
            return 15;
        case MeteringTemperature::f60:
            return 15.55;
        case MeteringTemperature::c20:
            return 20;
    }
    return 15;
}

Result<> require_metering_pressure(Pressure pressure) {
    if (pressure >= kilopascal(90) && pressure <= kilopascal(110)) return {};
    return fail(Errc::out_of_range,
                fmt::format("{} kPa is outside the 90 to 110 kPa of ISO 6976.", pressure.si / 1e3),
                "pressure_kpa",
                "take a metering reference pressure such as 101.325");
}

Result<Iso6976> iso6976(Composition const& gas, Iso6976Options const& options) {
    GW_CHECK(require_answerable(gas, options));
    auto const blocks = blocks_of(gas, options, Uncertainty::tables_and_composition);
    auto const real = real_basis(blocks, options);
    GW_CHECK(require_real_gas(real.Z));
    Iso6976 out{group(blocks, ideal_basis(blocks, options)), group(blocks, real), {}};
    if (gas.V.empty())
        out.warnings.emplace_back(
            "The composition states no uncertainties: u holds the property tables and constants "
            "alone.");
    return out;
}

Result<CvGradient> gross_cv_volume_gradient(Composition const& gas, Iso6976Options const& options) {
    GW_CHECK(require_answerable(gas, options));
    auto const blocks = blocks_of(gas, options, Uncertainty::tables_alone);
    auto const real = real_basis(blocks, options);
    GW_CHECK(require_real_gas(real.Z));
    auto const Hv = blocks.figure[gross_molar] / real.volume;
    CvGradient out{blocks.measured(Hv), std::vector<double>(gas.x.size(), 0.0)};
    for (std::size_t i = 0; i < gas.x.size(); ++i)
        for (std::size_t b = 0; b < of_composition; ++b)
            out.per_fraction[i] += Hv.d[b] * blocks.per_fraction[b][i];
    return out;
}

std::span<QuantityRow const> quantity_rows() { return rows_of_group; }

Json group_json(Iso6976Group const& group) {
    auto out = Json::object();
    for (auto const& row : rows_of_group)
        out[std::string(row.key)] = quantity_json(group.*row.quantity, row.unit);
    return out;
}

}  // namespace gw::gas
