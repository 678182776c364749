#pragma once
/// The use-cases behind `gaswright assay calibrate` and `gaswright assay run`.
#include <optional>
#include <string>
#include <vector>

#include "assay/calibration.hpp"
#include "assay/calorific_distribution.hpp"
#include "assay/composition_of_run.hpp"
#include "desk/gas_properties.hpp"

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
    std::optional<std::string> characterisation;    ///< path of a composition file that carries one
    std::optional<std::uint64_t> monte_carlo_seed;  ///< also draw the calorific value (JCGM 101)
};

struct AssayedRun {
    assay::RunAreas areas;
    assay::RunComposition composition;  ///< C6+ lumped, with its characterisation
    GasProperties properties;           ///< with the split's uncertainty
    std::optional<assay::CalorificDistribution> distribution;
    std::string unit;  ///< of the signal; "" for a report
    std::vector<std::string> warnings;
};
Result<AssayedRun> assay_run(AssayRequest const& request);
Json assayed_run_json(AssayedRun const& run);
std::string assayed_run_text(AssayedRun const& run);

}  // namespace gw::desk
