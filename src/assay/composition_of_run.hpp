#pragma once
/// From the areas of a run to its composition with covariance, and to what the gas is worth.
#include <optional>
#include <string>
#include <vector>

#include "assay/calibration.hpp"
#include "gas/gas.hpp"

namespace gw::assay {

struct RunComposition {
    gas::Composition gas;         ///< normalised, mol/mol, with covariance; C6+ lumped
    double unnormalised_total{};  ///< mol/mol, fixed components included
    std::vector<std::string> warnings;
};

/// x = area / factor for every measured component, fixed ones as the method states, then closed:
/// all measured fractions scaled to one minus the fixed ones, or methane as one minus the others.
/// Covariance: certificate and mean of the calibration runs (common to all runs of one
/// calibration), the repeatability of one run, the area's own uncertainty where that is larger;
/// carried through the closure (ISO 6974-2: V* = J V J'). Fails when no component has both an area
/// and a factor.
Result<RunComposition> composition_of(RunAreas const& run,
                                      Method const& method,
                                      Calibration const& calibration);

/// The parts of that covariance, for callers that average several runs of one calibration: the part
/// that does not average out. mean: a composition of the same components.
struct SplitCovariance {
    SquareMatrix common, single_run;
};

/// The composition a report prints: mole_percent normalised, as it was printed. No covariance.
/// Fails when no row states mole_percent.
Result<RunComposition> printed_composition(trace::ReportTable const& report);

/// The heavy end to value line gas with: option, method, calibration, else the usual split with a
/// warning.
gas::Characterisation line_gas_characterisation(gas::Characterisation const& option,
                                                Method const* method,
                                                Calibration const* calibration,
                                                std::vector<std::string>& warnings);

/// C6+ replaced by its parts, with the uncertainty of the split as a term of its own: one tenth of
/// C6+ moves between the lightest and the heaviest part (k = 1; common practice, no source: splits
/// in use differ by as much). own_split: the heavy end is certified, so the term is left out.
gas::Composition with_heavy_end(gas::Composition const& gas,
                                gas::Characterisation const& split,
                                bool own_split);

}  // namespace gw::assay
