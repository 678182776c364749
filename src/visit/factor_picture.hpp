#pragma once
/// The factors of a calibration, component by component, as the findings on them see them: what
/// `factor_order`, `factor_pattern` and `factor_shift:NAME` are made of, to be drawn or read.
#include <string>
#include <vector>

#include "visit/evidence_findings.hpp"

namespace gw::visit {

struct FactorMark {
    gas::Component component;
    int detector = 1;
    /// Percent, with the standard uncertainty of the factor where it is known (for what is shown:
    /// `factor_pattern` is judged by its value alone). Limits and verdict as the finding has them.
    metrology::Finding finding;
};

/// One comparison of all factors.
struct FactorSet {
    std::string id, title;  ///< "published", "passport", "shift"
    std::vector<FactorMark> marks;
};

struct FactorPicture {
    std::vector<FactorSet> sets;              ///< those of which something is known
    std::vector<assay::OffendingPair> pairs;  ///< out of order
};

/// passport: none when the analyser's own history is not known. shifts: findings
/// `factor_shift:NAME` with the detectors of `factors`.
FactorPicture factor_picture(std::vector<assay::FactorPoint> const& factors,
                             assay::FactorEvidence const& evidence,
                             PassportPattern const* passport,
                             std::vector<metrology::Finding> const& shifts,
                             metrology::CriteriaSet const& criteria);

/// {"sets": [{"id", "title", "marks": [{"component", "detector", "finding"}]}], "pairs":
/// [{"lower", "higher"}]}: the lower should have the smaller factor and has not.
Json factor_picture_json(FactorPicture const& picture);

}  // namespace gw::visit
