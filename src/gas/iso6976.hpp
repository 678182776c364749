#pragma once
/// Calorific values, density, relative density and Wobbe index from composition: ISO 6976:2016,
/// with the standard's propagation of uncertainty (composition, property tables, atomic masses,
/// constants).
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/quantity.hpp"
#include "base/result.hpp"
#include "gas/composition.hpp"

namespace gw::gas {

/// Reference conditions. Only these temperatures have table values; there is no interpolation.
enum class CombustionTemperature {
    c0,
    c15,
    f60,
    c20,
    c25
};  ///< f60 is "15.55 degC" of the standard
enum class MeteringTemperature { c0, c15, f60, c20 };
Result<CombustionTemperature> combustion_temperature(double degrees_c);  ///< 0, 15, 15.55, 20 or 25
Result<MeteringTemperature> metering_temperature(
    double degrees_c);                       ///< 0, 15, 15.55 or 20; 25 is refused
double in_celsius(CombustionTemperature t);  ///< as the standard writes it: 15.55 for 60 degF
double in_celsius(MeteringTemperature t);

Result<> require_metering_pressure(Pressure pressure);  ///< 90 to 110 kPa

struct Iso6976Options {
    CombustionTemperature combustion = CombustionTemperature::c15;
    MeteringTemperature metering = MeteringTemperature::c15;
    Pressure pressure = kilopascal(101.325);  ///< 90 to 110 kPa
};

/// u = standard uncertainty, k = 1, of composition and tables together.
struct Iso6976Group {
    Measured molar_mass;                      ///< kg/kmol
    Measured compression_factor;              ///< 1 in the ideal group
    Measured gross_cv_molar, net_cv_molar;    ///< kJ/mol
    Measured gross_cv_mass, net_cv_mass;      ///< MJ/kg
    Measured gross_cv_volume, net_cv_volume;  ///< MJ/m3
    Measured density;                         ///< kg/m3
    Measured relative_density;
    Measured gross_wobbe, net_wobbe;  ///< MJ/m3
};

struct Iso6976 {
    Iso6976Group ideal, real;
    std::vector<std::string> warnings;
};

/// Properties of `gas`, used as given (see with_checked_total). Holds no C6+: expand it first.
/// Fails with out_of_range outside 90 to 110 kPa, and when Z leaves (0.9, 1], where the standard's
/// simple formula means nothing. Cost: O(n^2) in components, no allocation beyond a few vectors.
Result<Iso6976> iso6976(Composition const& gas, Iso6976Options const& options = {});

/// Real-gas gross calorific value on a volume basis, MJ/m3, and its gradient to mole fractions, for
/// callers that bring their own covariance (same order as gas.components). The u of `value` holds
/// the property tables alone.
struct CvGradient {
    Measured value;
    std::vector<double> per_fraction;  ///< MJ/m3 per mol/mol, each fraction varied alone
};
Result<CvGradient> gross_cv_volume_gradient(Composition const& gas,
                                            Iso6976Options const& options = {});

/// The twelve quantities of a group in the contract's order, for JSON, tables and reports alike.
struct QuantityRow {
    std::string_view key, title, unit;
    Measured Iso6976Group::*quantity;
};
std::span<QuantityRow const> quantity_rows();

/// {"molar_mass": {"value","u","unit"}, ...} in the contract's order.
Json group_json(Iso6976Group const& group);

}  // namespace gw::gas
