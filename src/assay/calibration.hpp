#pragma once
/// Response factors from runs on a certified gas, with what they are worth.
#include <optional>
#include <string>
#include <vector>

#include "assay/cylinder.hpp"
#include "assay/method.hpp"
#include "assay/run.hpp"
#include "base/json.hpp"
#include "base/result.hpp"
#include "base/time.hpp"

namespace gw::assay {

struct RejectedRun {
    std::string source, reason;
};

struct Factor {
    gas::Component component;
    double value{};          ///< area per mol/mol
    double u{};              ///< standard uncertainty: certificate and mean of the runs together
    double repeatability{};  ///< relative standard deviation of one run; 0 when one run only
    double retention_s{};    ///< mean of the runs
    int detector = 1;
    bool borrowed = false;  ///< through factor_from: ratio times another component's factor
};

struct Calibration {
    std::vector<Factor> factors;       ///< order of the method
    SquareMatrix relative_covariance;  ///< of the factors, dimensionless, same order: certificate
                                       ///< and mean of runs
    SquareMatrix run_covariance;  ///< of one run's ln(area), same order, n - 1 degrees of freedom;
                                  ///< empty with one run
    std::vector<std::string> runs_used;  ///< sources
    std::vector<RejectedRun> runs_rejected;
    std::string cylinder;         ///< serial
    std::optional<Instant> time;  ///< of the last run, when it states one
    std::string method_hash, cylinder_hash;
    gas::Characterisation characterisation;  ///< of line gas, as the method stated it
    gas::Characterisation
        heavy_end;  ///< of the calibration gas itself: what its C6+ factor belongs to
    std::vector<std::string> warnings;
    std::string hash;  ///< of the file, set by who read it

    [[nodiscard]] Factor const* find(gas::Component component) const;
    [[nodiscard]] int degrees_of_freedom() const { return static_cast<int>(runs_used.size()) - 1; }
};

struct CalibrateOptions {
    std::size_t discard = 0;  ///< first runs not used: purge and settling
    double outlier_alpha =
        0.01;  ///< of Grubbs' test, shared among the components (ISO 5725-2: 1 %)
};

/// Factor = mean area over the certified amount of everything that elutes in the peak. A run in
/// which any component is an outlier is rejected whole (ratios of factors come from the same
/// injections), from four runs on and while three remain. Amounts are taken as printed; their
/// covariance through the sum-to-one constraint. Fails when a certificate component elutes nowhere,
/// when a run lacks the area of a certified component and no other run has it, when nothing is left
/// after discarding.
Result<Calibration> calibrate(std::vector<RunAreas> const& runs,
                              Method const& method,
                              Cylinder const& cylinder,
                              CalibrateOptions const& options = {});

/// The contract's `calibration` file, and back. Reading accepts a file that carries factor and u
/// alone.
Json calibration_json(Calibration const& calibration);
Result<Calibration> read_calibration(Field const& root);

}  // namespace gw::assay
