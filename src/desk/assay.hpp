#pragma once
/// The use-cases behind `gaswright assay calibrate` and `gaswright assay run`.
#include <optional>
#include <string>
#include <vector>

#include "assay/calibration.hpp"
#include "assay/calorific_distribution.hpp"
#include "assay/carry_over.hpp"
#include "assay/composition_of_run.hpp"
#include "desk/gas_properties.hpp"
#include "desk/load.hpp"

namespace gw::desk {

struct CalibrateRequest {
    std::vector<std::string> runs;
    std::string method, cylinder;
    std::size_t discard = 0;
    std::optional<double> rate_hz;
};
Result<assay::Calibration> calibrate(CalibrateRequest const& request);
std::string calibration_text(assay::Calibration const& calibration);

struct AssayRequest {
    std::string run, method, calibration;
    gas::Reference reference;
    std::optional<double> rate_hz;
    std::optional<std::string> characterisation;  ///< path of a composition file that carries one
    /// Paths of the run before this one, and of the run after it on the same gas: for what this one
    /// carries over. after only with before.
    std::optional<std::string> before, after;
    std::optional<std::uint64_t> monte_carlo_seed;  ///< also draw the calorific value (JCGM 101)
};

struct AssayedRun {
    assay::RunAreas areas;
    assay::RunComposition composition;  ///< C6+ lumped, with its characterisation
    GasProperties properties;           ///< with the split's uncertainty
    std::optional<assay::CalorificDistribution> distribution;
    std::optional<assay::CarryOver> carry_over;  ///< where the run before was given
    std::string unit;                            ///< of the signal; "" for a report
    std::vector<std::string> warnings;
};
Result<AssayedRun> assay_run(AssayRequest const& request);

/// What stays the same from run to run, read once.
struct AssaySetup {
    assay::Method method;
    assay::Calibration calibration;
    gas::Reference reference;
    gas::Characterisation characterisation;  ///< asked for on the command line; empty when not
    std::vector<std::string> warnings;       ///< that hold for every run
};
Result<AssaySetup> assay_setup(AssayRequest const& request);
/// Areas, composition and worth of one run: depends on its arguments alone. The set-up's warnings
/// are among the answer's.
Result<AssayedRun> assayed(Run const& run,
                           AssaySetup const& setup,
                           assay::PeakFinder const& finder = trace::find_peaks);
Json assayed_run_json(AssayedRun const& run);
std::string assayed_run_text(AssayedRun const& run);

}  // namespace gw::desk
