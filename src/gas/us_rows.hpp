#pragma once
/// What GPA 2172 takes from its tables, for the sums made of them. Private to the folder.
#include "gas/component.hpp"
#include "gas/gpa2172.hpp"

namespace gw::gas {

struct UsRow {
    double molar_mass{};          ///< lb/lbmol
    double gross_cv{}, net_cv{};  ///< Btu per ft3 of ideal gas at 60 degF and the table's pressure
    double s{};                   ///< root of the deficit of Z at the table's pressure
};
UsRow us_row(Component component);

struct UsTable {
    double ideal_volume{};    ///< ft3 of ideal gas in a pound-mole at the table's pressure
    double pressure_ratio{};  ///< base over the table's pressure
    double mass_of_air{};     ///< lb/lbmol
    double z_of_air{};        ///< at the base
};
UsTable us_table(Pressure base);

}  // namespace gw::gas
