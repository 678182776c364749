#pragma once
/// What stands around a proof: how sure its verdict is, what would have to be true for it to be
/// wrong, and what else could show the same where no proving gas is at hand.
#include <optional>
#include <string>
#include <vector>

#include "metrology/metrology.hpp"
#include "visit/valued_run.hpp"

namespace gw::visit {

/// Two values and whether they agree within their uncertainties. Never a verdict: a worse cylinder
/// makes it easier.
struct Consistency {
    std::string quantity;
    double normalised_error{};  ///< E_n, ISO 13528; within 1: consistent
};

/// The first run after a change of gas against those that follow it.
struct CarryOver {
    std::string gas, stream;
    double first_off_percent{};  ///< calorific value of the first run less the mean of the others
    double limit_percent{};      ///< what scatter alone exceeds once in a hundred times
    bool seen = false;
};

/// A run that stands out of its series; it is kept.
struct OutstandingRun {
    std::string gas, stream, source, reason;
    bool outlier = false;  ///< 1 %; else a straggler, 5 %
};

/// The total with the pressure of the air at the calibration and at the run taken out.
struct CorrectedTotal {
    std::string gas, stream;
    double as_found{}, corrected{};  ///< mol%
    double run_kpa{}, calibration_kpa{};
};

/// A proof weaker than a proving gas.
struct WeakerProof {
    std::string proof, shows, does_not_show;
};

/// Runs on the proving gas that bring the uncertainty within the limit.
struct RunsNeeded {
    std::optional<std::size_t> runs;  ///< none: no number of runs is enough
    std::optional<double> minutes;    ///< by the method's cycle
    std::string why;
};

struct ProofEvidence {
    std::vector<Consistency> consistency;
    std::vector<CarryOver> carry_over;
    std::vector<OutstandingRun> outstanding;
    std::vector<CorrectedTotal> corrected_totals;
    std::vector<WeakerProof> ladder;  ///< empty when a proving gas was run
    RunsNeeded runs_needed;
    bool shared_parent = false;              ///< nothing states that the cylinders are independent
    std::optional<double> shared_u_percent;  ///< of the calorific value, that both may share
    std::vector<std::string> wrong_if;       ///< plain sentences
};

struct Proof;
struct ProofInputs;
ProofEvidence proof_evidence(ProofInputs const& inputs, Proof const& proof);
Json proof_evidence_json(ProofEvidence const& evidence);
std::string proof_evidence_text(ProofEvidence const& evidence);

}  // namespace gw::visit
