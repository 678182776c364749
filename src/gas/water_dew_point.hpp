#pragma once
/// At what temperature water begins to condense from a wet gas.
/// Sources: R. F. Bukacek, Equilibrium Moisture Content of Natural Gases, IGT Research Bulletin 8
/// (1955), as ASTM D1142 uses it: water = A(T)/p + B(T) with A the vapour pressure of water; its
/// vapour pressure by W. Wagner and A. Pruss (1993), IAPWS SR1-86(1992), carried on below 0 degC as
/// that of supercooled water.
#include <string_view>

#include "base/quantity.hpp"
#include "base/result.hpp"

namespace gw::gas {

/// Vapour pressure over liquid water, Pa. T from 200 K to the critical point, 647.096 K; the
/// formula is published from 273.16 K up. Not a number beyond.
double water_vapour_pressure(Temperature T);

/// Mole fraction of water in gas saturated with liquid water, mol/mol; not above one.
double saturated_water(Temperature T, Pressure p);

/// normal: 15.56 to 237.8 degC (60 to 460 degF) and 0.1 to 69 MPa, the published range of the
/// correlation; extended: down to -40 degC, where ASTM D1142 tabulates it (from memory): the figure
/// is that of supercooled water, and ice or hydrate may form sooner; outside: anything else.
enum class WaterRange { normal, extended, outside };
std::string_view name(WaterRange range);

struct WaterDewPoint {
    Temperature T;
    WaterRange range{};
};
/// water: mole fraction in the wet gas. None of hydrate, ice or the effect of acid gases is in it.
/// Fails with out_of_range when the dew point would lie outside 200 to 600 K.
/// Cost: some 40 evaluations of the two formulas.
Result<WaterDewPoint> water_dew_point(double water, Pressure p);

}  // namespace gw::gas
