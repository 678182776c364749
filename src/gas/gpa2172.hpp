#pragma once
/// Heating value, relative density and compression factor in US units: GPA 2172 / ASTM D3588 with
/// the component data of GPA 2145-16, at 60 degF and any base pressure, dry and saturated with
/// water.
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/quantity.hpp"
#include "base/result.hpp"
#include "gas/composition.hpp"
#include "gas/iso6976.hpp"

namespace gw::gas {

constexpr Pressure psia(double p) { return {p * 6894.757293168361}; }
constexpr double in_psia(Pressure p) { return p.si / 6894.757293168361; }

Result<> require_base_pressure(Pressure base);  ///< 80 to 120 kPa, that is 11.6 to 17.4 psia

struct Gpa2172Options {
    Pressure base =
        kilopascal(101.325);  ///< 80 to 120 kPa; 14.696, 14.73, 15.025 psia in contracts
};

/// Volumes are at 60 degF and the base pressure, the gas dry unless the name says saturated. u =
/// standard uncertainty of the composition alone: the standard states none for its tables.
struct Gpa2172Group {
    Measured molar_mass;                      ///< lb/lbmol
    Measured compression_factor;              ///< 1 in the ideal group
    Measured gross_cv_molar, net_cv_molar;    ///< Btu/lbmol
    Measured gross_cv_mass, net_cv_mass;      ///< Btu/lb
    Measured gross_cv_volume, net_cv_volume;  ///< Btu/ft3
    Measured density;                         ///< lb/ft3
    Measured relative_density;
    Measured gross_wobbe, net_wobbe;  ///< Btu/ft3
    Measured compression_factor_saturated;
    Measured gross_cv_volume_saturated;  ///< Btu/ft3; the water vapour is credited no heat
    Measured relative_density_saturated;
    Measured gross_wobbe_saturated;  ///< Btu/ft3
};

struct Gpa2172 {
    Gpa2172Group ideal, real;
    double water_fraction{};  ///< mol/mol in the saturated gas
    /// Gallons of liquid in a thousand ft3 of real dry gas, for the components with a listed
    /// volume.
    std::vector<std::pair<Component, Measured>> gallons_per_thousand;
    std::vector<std::string> warnings;
};

/// Water in the composition is taken out and the rest scaled: "dry" is what the standard values,
/// and the saturated gas gets its own water. A component that GPA 2145 does not list takes the
/// values of ISO 6976:2016 at 60 degF, with a warning. Net values are the gross ones less the
/// table's heat of water for each water molecule formed. C6+ must be expanded before. Fails with
/// out_of_range outside the base pressures, and when Z leaves (0.9, 1].
Result<Gpa2172> gpa2172(Composition const& gas, Gpa2172Options const& options = {});

/// Real dry gross heating value, Btu/ft3, and its gradient to the mole fractions as given (water
/// included). value.u is 0: the standard states no uncertainty of its tables.
Result<CvGradient> gross_cv_volume_gradient(Composition const& gas, Gpa2172Options const& options);

struct UsQuantityRow {
    std::string_view key, title, unit;
    Measured Gpa2172Group::*quantity;
};
std::span<UsQuantityRow const> us_quantity_rows();

/// {"molar_mass": {"value","u","unit"}, ...}
Json group_json(Gpa2172Group const& group);

}  // namespace gw::gas
