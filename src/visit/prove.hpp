#pragma once
/// Does this analyser read right? The proof on a gas it was not calibrated with, and the weaker
/// evidence around it.
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "metrology/metrology.hpp"
#include "visit/factor_picture.hpp"
#include "visit/proof_evidence.hpp"
#include "visit/valued_run.hpp"

namespace gw::visit {

struct ProofInputs {
    metrology::CriteriaSet criteria;
    gas::Reference reference;
    std::optional<assay::Method> method;
    std::optional<assay::Calibration> calibration;
    std::optional<assay::Cylinder> calibration_cylinder, proving_cylinder;
    std::vector<ProofRun> calibration_gas, proving_gas;
    std::vector<std::pair<std::string, std::vector<ProofRun>>> line_gas;  ///< by stream
    std::optional<assay::Calibration> previous;                           ///< the last accepted one
    std::optional<assay::Calibration> passport;  ///< factors of the analyser when it was known good
    Date on;                                     ///< the day of the proof
    std::string basis;                           ///< "", "as_found" or "as_left"
};

struct ProofRunLine {
    std::string gas, stream;
    ValuedRun run;
};

struct Proof {
    std::vector<metrology::Finding> findings;
    metrology::Verdict verdict{};
    std::string cv_unit;             ///< of the calorific value of each run
    std::vector<ProofRunLine> runs;  ///< every run with its value, in the order given
    std::vector<std::string> warnings;
    ProofEvidence evidence;
    FactorPicture factors;
};

/// Findings of the contract, in this order: cv_bias, cv_self_check, cv_repeatability,
/// component_bias:NAME, component_repeatability:NAME, unnormalised_total, factor_order,
/// factor_pattern, factor_shift:NAME; after component_bias also wobbe_bias and density_bias, which
/// no shipped set limits. With a passport factor_pattern is judged against it, within each
/// detector. cv_bias is missing without a proving gas, and when the proving cylinder is the
/// calibration cylinder: that gas shows memory, not truth. Its uncertainty: scatter of the runs,
/// both certificates, the calibration's own scatter; property tables cancel. Without a
/// certificate's uncertainty conformity cannot be shown. Fails when a run can be valued in no way.
Result<Proof> prove(ProofInputs const& inputs);

Json proof_json(Proof const& proof);
std::string proof_text(Proof const& proof);

}  // namespace gw::visit
