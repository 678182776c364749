#pragma once
/// Quantities that must not be swapped: the SI value inside, the user's unit only at the edge.
#include <compare>

namespace gw {

template <class Tag>
struct Quantity {
    double si{};  ///< always the coherent SI unit
    // NOLINTNEXTLINE(modernize-use-nullptr): clang-tidy 14 misreads a defaulted comparison
    friend constexpr auto operator<=>(Quantity const&, Quantity const&) = default;
};

using Temperature = Quantity<struct TemperatureTag>;      ///< K
using Pressure = Quantity<struct PressureTag>;            ///< Pa, absolute
using GaugePressure = Quantity<struct GaugePressureTag>;  ///< Pa above ambient
using Seconds = Quantity<struct SecondsTag>;              ///< s

constexpr Temperature kelvin(double t) { return {t}; }
constexpr Temperature celsius(double t) { return {t + 273.15}; }
constexpr Temperature fahrenheit(double t) { return {(t + 459.67) / 1.8}; }
constexpr double in_celsius(Temperature t) { return t.si - 273.15; }
constexpr double in_kelvin(Temperature t) { return t.si; }

constexpr Pressure kilopascal(double p) { return {p * 1e3}; }
constexpr Pressure pascal(double p) { return {p}; }
constexpr double in_kilopascal(Pressure p) { return p.si * 1e-3; }
constexpr GaugePressure gauge_kilopascal(double p) { return {p * 1e3}; }
/// The only way from gauge to absolute: the ambient pressure must be said.
constexpr Pressure absolute(GaugePressure gauge, Pressure ambient) {
    return {gauge.si + ambient.si};
}

/// A value with its standard uncertainty (GUM 2.3.1), both in the same unit.
struct Measured {
    double value{};
    double u{};
};

}  // namespace gw
