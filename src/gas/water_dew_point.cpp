#include "gas/water_dew_point.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace gw::gas {

namespace {

// Wagner and Pruss (1993), equation 1: critical point of water and the six coefficients.
constexpr double critical_T = 647.096, critical_p = 22.064e6;
constexpr double wagner[] = {
    -7.85951783, 1.84408259, -11.7866497, 22.6807411, -15.9618719, 1.80122502};
constexpr double wagner_power[] = {1, 1.5, 3, 3.5, 4, 7.5};

// Bukacek: log10 of B in lb/MMscf is c - d/(degF + 459.6). A is 47484 times the vapour pressure
// over the pressure, so that 47484 lb/MMscf is water alone.
constexpr double bukacek_c = 6.69449, bukacek_d = 3083.87, zero_in_rankine = 459.6;
constexpr double all_water = 47484;  // lb/MMscf

constexpr double lowest_T = 200, highest_T = 600;  // K: of the search

}  // namespace

double water_vapour_pressure(Temperature T) {
    double const theta = 1 - T.si / critical_T;
    if (!(T.si >= lowest_T && theta >= 0)) return std::nan("");
    double sum = 0;
    for (int k = 0; k < 6; ++k) sum += wagner[k] * std::pow(theta, wagner_power[k]);
    return critical_p * std::exp(critical_T / T.si * sum);
}

double saturated_water(Temperature T, Pressure p) {
    double const rankine = in_celsius(T) * 1.8 + 32 + zero_in_rankine;
    double const B = std::pow(10.0, bukacek_c - bukacek_d / rankine);
    return std::min(1.0, water_vapour_pressure(T) / p.si + B / all_water);
}

std::string_view name(WaterRange range) {
    switch (range) {
        case WaterRange::normal:
            return "normal";
        case WaterRange::extended:
            return "extended";
        case WaterRange::outside:
            break;
    }
    return "outside";
}

Result<WaterDewPoint> water_dew_point(double water, Pressure p) {
    if (!(water > 0 && water < 1))
        return fail(Errc::bad_input,
                    fmt::format("{} is no mole fraction of water.", water),
                    "water",
                    "give a fraction between 0 and 1");
    if (!(p.si > 0 && std::isfinite(p.si)))
        return fail(Errc::bad_input,
                    fmt::format("{} kPa is no pressure.", p.si / 1e3),
                    "pressure_kpa",
                    "give an absolute pressure above zero");
    double low = lowest_T, high = highest_T;
    if (saturated_water(kelvin(low), p) > water || saturated_water(kelvin(high), p) < water)
        return fail(Errc::out_of_range,
                    fmt::format("A gas with {:.3g} mol/mol of water at {:.6g} kPa has no water dew "
                                "point between {} and {} K.",
                                water,
                                p.si / 1e3,
                                lowest_T,
                                highest_T),
                    "water",
                    "check the amount of water");
    while (high - low > 1e-10 * high) {  // the content rises with temperature throughout
        double const middle = 0.5 * (low + high);
        (saturated_water(kelvin(middle), p) < water ? low : high) = middle;
    }
    WaterDewPoint out{kelvin(0.5 * (low + high)), WaterRange::outside};
    double const fahrenheit = in_celsius(out.T) * 1.8 + 32;
    bool const pressed = p.si >= 0.1e6 && p.si <= 69e6;
    if (pressed && fahrenheit >= 60 && fahrenheit <= 460)
        out.range = WaterRange::normal;
    else if (pressed && fahrenheit >= -40 && fahrenheit < 60)
        out.range = WaterRange::extended;
    return out;
}

}  // namespace gw::gas
