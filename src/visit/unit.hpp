#pragma once
/// Units in which readings of a visit are typed, and their way into the unit of a limit.
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace gw::visit {

bool is_known_unit(std::string_view unit);
/// `value` in `from` as a value in `to`; none when one of them is unknown or they measure different
/// things. Gauge and absolute pressure are different things.
std::optional<double> converted(double value, std::string_view from, std::string_view to);
/// The same for an uncertainty or a difference: without the offset of a temperature scale.
std::optional<double> converted_difference(double value,
                                           std::string_view from,
                                           std::string_view to);
/// Every unit that measures the same as `unit`.
std::vector<std::string> units_like(std::string_view unit);

}  // namespace gw::visit
