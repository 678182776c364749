#pragma once
/// The findings of a visit, made anew from what is kept of it, by the engines of the folders below.
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "metrology/finding.hpp"
#include "store/store.hpp"
#include "visit/prove.hpp"
#include "visit/visit_state.hpp"

namespace gw::desk {

/// One run, judged by itself.
struct JudgedRun {
    std::string sha256, gas, stream, basis;  ///< of the evidence; "calibration"; "1"; "as_found"
    double cv{};                             ///< in `cv_unit`
    std::string cv_unit;
    std::optional<double> total;  ///< unnormalised, mol/mol
    metrology::Finding finding;
};

/// One state of the analyser as it was judged, with what went into it.
struct JudgedState {
    visit::ProofInputs inputs;
    visit::Proof proof;
};

struct VisitFindings {
    std::vector<metrology::Finding> findings;
    std::vector<JudgedRun> runs;        ///< those on whose gas something could be judged
    std::vector<std::string> warnings;  ///< what could not be made of the evidence, and why
    metrology::CriteriaSet criteria;
    std::map<std::string, JudgedState> judged;  ///< "as_found", "as_left"
};

/// As found and as left: the proof's findings; of each certificate: the check of its cylinder on
/// the day it was entered; of the settling series: "settled"; of readings that a step feeds to a
/// finding: that finding ("leak_rate", "rings_balance"); of the declared capabilities:
/// "compatibility". Each names the SHA-256 of its inputs. What was run before the analyser had
/// settled and its factors were accepted is provisional.
VisitFindings visit_findings(visit::VisitState const& visit, store::Store const& store);

}  // namespace gw::desk
