#pragma once
/// A cylinder of calibration or proving gas: what its certificate prints, and what that makes of
/// it.
#include <optional>
#include <string>
#include <vector>

#include "base/json.hpp"
#include "base/quantity.hpp"
#include "base/result.hpp"
#include "base/time.hpp"
#include "gas/composition.hpp"
#include "gas/reference.hpp"

namespace gw::assay {

enum class CylinderRole { calibration, proving };
std::string_view name(CylinderRole role);

/// Where the covariance of the amounts came from.
enum class CertificateUncertainty {
    none,       ///< the certificate states no uncertainty
    expanded,   ///< expanded uncertainties, amounts uncorrelated before the constraint
    covariance  ///< stated in full
};

/// Real gross calorific value as the certificate prints it, with its reference conditions.
struct StatedCalorificValue {
    double mj_per_m3{};
    gas::Iso6976Options at;  ///< 15 degC / 15 degC / 101.325 kPa unless stated
};

struct Cylinder {
    std::string serial;
    CylinderRole role = CylinderRole::calibration;
    std::optional<Date> certified, expires;
    std::string laboratory;
    std::vector<std::string> independent_of;  ///< serials or laboratories it shares no parent with

    /// Amounts as printed, mol/mol, their sum untouched; V as stated, before the constraint. A
    /// balance component printed without value is one minus the others.
    gas::Composition printed;
    CertificateUncertainty uncertainty = CertificateUncertainty::none;
    double last_digit{};            ///< mol/mol: the finest decimal place printed for any amount
    std::size_t printed_amounts{};  ///< how many amounts are printed
    bool balance_by_difference = false;  ///< the sum is one by construction and shows nothing

    std::optional<StatedCalorificValue> stated_calorific_value;
    std::optional<Pressure> pressure, minimum_pressure;
    std::optional<Temperature> minimum_storage, coldest_recorded;
    std::optional<double> water_capacity_l;

    std::vector<std::string> warnings;  ///< of the reading: what was assumed
    std::string sha256;                 ///< of the file; set by who read it
};

/// Parses a `cylinder` file. Certificate amounts in mol% or mol/mol, each {"value",
/// "expanded_uncertainty", "k" (2)} or a bare number; "covariance" (unit squared) with optional
/// "component_order"; "characterisation" of C6+. `balance` names a component whose value may be
/// absent; without an uncertainty of its own it takes that of the difference. Pressures absolute,
/// or gauge with "ambient_kpa". Refuses a total outside 90 to 110 mol%: beyond that it is no
/// certificate; inside, the total is a finding.
Result<Cylinder> read_cylinder(Field const& root);

/// The pressure that a document states: "pressure_kpa", or "pressure_gauge_kpa" with "ambient_kpa"
/// (40 to 110 kPa) beside it; none when it states neither. Refuses both at once, and a gauge
/// pressure alone.
Result<std::optional<Pressure>> stated_pressure(Field const& root);

/// What the cylinder is taken to hold: the printed amounts normalised, V through the constraint
/// that amounts sum to one (V <- J V J', ISO 6974-2). V is empty when the certificate states no
/// uncertainty.
gas::Composition certified_gas(Cylinder const& cylinder);

/// Real gross calorific value of the certified gas, by the standard asked for.
struct CertifiedCalorificValue {
    double value{};  ///< in the unit of its standard: MJ/m3 or Btu/ft3
    /// Standard uncertainty from the composition alone (the property tables are common to every
    /// value this gas is compared with); absent when the certificate states none.
    std::optional<double> u;
};
/// A lumped C6+ without a split of its own is valued with the usual one.
Result<CertifiedCalorificValue> certified_calorific_value(Cylinder const& cylinder,
                                                          gas::Reference const& reference = {});

}  // namespace gw::assay
