#pragma once
/// Density, compression factor, speed of sound and caloric properties of a gas by GERG-2008
/// (ISO 20765-2, AGA 8 Part 2) or AGA 8 DETAIL (Part 1, ISO 20765-1).
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/quantity.hpp"
#include "base/result.hpp"
#include "gas/composition.hpp"
#include "gas/wide_range.hpp"

namespace gw::gas {

enum class WideRangeEquation { gerg2008, detail };
std::string_view name(WideRangeEquation equation);  ///< "gerg2008" or "detail"
std::optional<WideRangeEquation> wide_range_equation(std::string_view name);

/// A composition prepared once for many states.
struct PreparedGas {
    WideRangeEquation equation{};
    WideRangeMixture mixture;
    double molar_mass{};  ///< g/mol of the gas itself: a stand-in counts with the true component's
                          ///< mass
    std::vector<std::string> warnings;  ///< stand-ins, scaling of the total
};

/// Components the equations lack are counted as the component of data/gas/equation_components.json
/// that stands in for them, with a warning that names both. The amounts are scaled to one. C6+ must
/// be expanded before. Cost: about a hundred density evaluations; then it serves any number of
/// states.
Result<PreparedGas> prepared(Composition const& gas, WideRangeEquation equation);

/// Where a state lies in the published range of the equation, by temperature and pressure.
/// GERG-2008: normal 90 to 450 K and up to 35 MPa, extended 60 to 700 K and up to 70 MPa (Kunz and
/// Wagner 2012). DETAIL: normal 250 to 350 K and up to 12 MPa; extended 143.15 to 676.15 K and up
/// to 70 MPa (AGA 8; the ends of the wide range from memory).
enum class ValidityRange { normal, extended, outside };
std::string_view name(ValidityRange range);
ValidityRange validity_range(WideRangeEquation equation, Temperature T, Pressure p);

struct FluidState {
    double molar_density{};  ///< mol/dm3
    double density{};        ///< kg/m3
    double pressure_kpa{};
    double compression_factor{};
    double dp_drho{};                                      ///< kPa dm3/mol, at constant temperature
    double dp_dT{};                                        ///< kPa/K, at constant density
    double d2p_drho2{};                                    ///< kPa (dm3/mol)^2
    double internal_energy{}, enthalpy{}, gibbs_energy{};  ///< J/mol; zero for the ideal components
                                                           ///< at 298.15 K and 101.325 kPa
    double entropy{}, cv{}, cp{};                          ///< J/(mol K)
    double speed_of_sound{};       ///< m/s; not a number where the fluid is mechanically unstable
    double joule_thomson{};        ///< K/kPa
    double isentropic_exponent{};  ///< of pressure and volume
};

/// Molar density, mol/dm3: the stable root (see density_root.hpp). Fails with out_of_range when no
/// density has this pressure, with bad_input when T or p is not positive.
Result<double> molar_density(PreparedGas const& gas, Temperature T, Pressure p);

/// Everything at a molar density in mol/dm3. Says nothing about stability.
FluidState state_at_density(PreparedGas const& gas, Temperature T, double molar_density);

/// density, then everything there.
Result<FluidState> fluid_state(PreparedGas const& gas, Temperature T, Pressure p);

}  // namespace gw::gas
