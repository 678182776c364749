#pragma once
/// Which standard values a gas, and at which reference conditions: the choice that travels from an
/// option or a proof file down to the sum.
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "gas/gpa2172.hpp"
#include "gas/iso6976.hpp"

namespace gw::gas {

using Reference = std::variant<Iso6976Options, Gpa2172Options>;
using Properties = std::variant<Iso6976, Gpa2172>;

Result<Properties> properties_of(Composition const& gas, Reference const& reference);
std::vector<std::string> const& warnings_of(Properties const& properties);

/// Real gross calorific value by volume and its gradient, in cv_unit(reference).
Result<CvGradient> gross_cv_volume_gradient(Composition const& gas, Reference const& reference);

std::string_view standard_key(Reference const& reference);  ///< "iso6976" or "gpa2172"
std::string_view cv_unit(Reference const& reference);       ///< "MJ/m3" or "Btu/ft3"
double combustion_c(Reference const& reference);            ///< 15.55 for 60 degF
double metering_c(Reference const& reference);
Pressure reference_pressure(Reference const& reference);
/// "combustion at 15 degC, metering at 15 degC and 101.325 kPa", with the standard before it.
std::string title_of(Reference const& reference);

}  // namespace gw::gas
