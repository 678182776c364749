#pragma once
/// The use-case behind `gaswright gas density`: a composition file and a state in, density out.
#include <string>
#include <vector>

#include "base/json.hpp"
#include "base/result.hpp"
#include "gas/equation_of_state.hpp"

namespace gw::desk {

struct GasDensityOptions {
    gas::WideRangeEquation equation = gas::WideRangeEquation::gerg2008;
    Temperature temperature = celsius(15);
    Pressure pressure = kilopascal(101.325);
    bool normalise = false;
    bool check_phase =
        true;  ///< by Peng-Robinson, some 50 microseconds; far more near the critical point
};

enum class Phase { one, split, not_checked, doubtful };

struct GasDensity {
    GasDensityOptions asked;
    gas::FluidState state;
    gas::ValidityRange range{};
    double molar_mass{};  ///< kg/kmol
    Phase phase{};
    std::vector<std::string> warnings;  ///< stand-ins, range, a state that splits
};
Result<GasDensity> gas_density(std::string const& path, GasDensityOptions const& options);

Json gas_density_json(GasDensity const& density);
std::string gas_density_text(GasDensity const& density);

}  // namespace gw::desk
