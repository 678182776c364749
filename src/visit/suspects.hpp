#pragma once
/// From what one report shows to the causes that would make it so.
#include <vector>

#include "assay/factor_evidence.hpp"
#include "visit/look.hpp"

namespace gw::visit {

struct LookEvidence {
    assay::FactorEvidence factors;
    std::vector<std::string> factor_faults;  ///< printed factors that contradict their own areas
    trace::ReportTable const* report = nullptr;
    assay::Cylinder const* cylinder = nullptr;
    std::optional<double> total_percent;    ///< unnormalised
    std::optional<double> certificate_off;  ///< printed sum less 100, mol%, when it fails its limit
    bool cv_mismatch = false;               ///< the printed calorific value does not follow
    std::string cv_note;
};

/// Every cause that this evidence supports, strongest first. Signatures: common practice, no
/// source; the sums behind them are stated with each.
std::vector<Suspect> suspects(LookEvidence const& evidence);

}  // namespace gw::visit
