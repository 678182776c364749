#include "gas/reference.hpp"

#include <fmt/format.h>

namespace gw::gas {

namespace {

constexpr double sixty_fahrenheit = 15.55;  // as ISO 6976 writes it

}  // namespace

Result<Properties> properties_of(Composition const& gas, Reference const& reference) {
    if (auto const* us = std::get_if<Gpa2172Options>(&reference)) {
        GW_TRY(auto values, gpa2172(gas, *us));
        return Properties(std::move(values));
    }
    GW_TRY(auto values, iso6976(gas, std::get<Iso6976Options>(reference)));
    return Properties(std::move(values));
}

std::vector<std::string> const& warnings_of(Properties const& properties) {
    if (auto const* us = std::get_if<Gpa2172>(&properties)) return us->warnings;
    return std::get<Iso6976>(properties).warnings;
}

Result<CvGradient> gross_cv_volume_gradient(Composition const& gas, Reference const& reference) {
    if (auto const* us = std::get_if<Gpa2172Options>(&reference))
        return gross_cv_volume_gradient(gas, *us);
    return gross_cv_volume_gradient(gas, std::get<Iso6976Options>(reference));
}

std::string_view standard_key(Reference const& reference) {
    return std::holds_alternative<Gpa2172Options>(reference) ? "gpa2172" : "iso6976";
}

std::string_view cv_unit(Reference const& reference) {
    return std::holds_alternative<Gpa2172Options>(reference) ? "Btu/ft3" : "MJ/m3";
}

double combustion_c(Reference const& reference) {
    auto const* iso = std::get_if<Iso6976Options>(&reference);
    return iso != nullptr ? in_celsius(iso->combustion) : sixty_fahrenheit;
}

double metering_c(Reference const& reference) {
    auto const* iso = std::get_if<Iso6976Options>(&reference);
    return iso != nullptr ? in_celsius(iso->metering) : sixty_fahrenheit;
}

Pressure reference_pressure(Reference const& reference) {
    if (auto const* us = std::get_if<Gpa2172Options>(&reference)) return us->base;
    return std::get<Iso6976Options>(reference).pressure;
}

std::string title_of(Reference const& reference) {
    double const kpa = reference_pressure(reference).si / 1e3;
    if (auto const* us = std::get_if<Gpa2172Options>(&reference))
        return fmt::format("GPA 2172 with GPA 2145-16, 60 degF and {:.4f} psia ({:.6g} kPa)",
                           in_psia(us->base),
                           kpa);
    return fmt::format("ISO 6976:2016, combustion at {} degC, metering at {} degC and {} kPa",
                       combustion_c(reference),
                       metering_c(reference),
                       kpa);
}

}  // namespace gw::gas
