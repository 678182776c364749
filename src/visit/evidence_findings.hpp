#pragma once
/// Findings that both the first look and the proof make in the same words.
#include <optional>
#include <string>
#include <vector>

#include "assay/factor_evidence.hpp"
#include "metrology/metrology.hpp"

namespace gw::visit {

/// Value in the number of pairs out of order; not applicable when no two known components share a
/// detector.
metrology::Finding factor_order_finding(assay::FactorEvidence const& evidence,
                                        metrology::CriteriaSet const& criteria);
/// Value in percent: the largest departure from the published pattern, signed; not applicable when
/// no detector has three components with published responses.
metrology::Finding factor_pattern_finding(assay::FactorEvidence const& evidence,
                                          metrology::CriteriaSet const& criteria);
/// The same against the analyser's own passport: ln(factor / passport's) less the middle of its
/// detector's, so that a change of the amount injected or of a detector's flow does not count.
struct PassportPattern {
    std::vector<assay::PatternPoint> points;  ///< detectors that share three or more components
    double shared = 0;  ///< what all factors moved by: middle of the detectors' middles, as ln
};
PassportPattern passport_pattern(std::vector<assay::FactorPoint> const& factors,
                                 assay::Calibration const& passport);
metrology::Finding passport_pattern_finding(PassportPattern const& pattern,
                                            metrology::CriteriaSet const& criteria);
/// Value in mol%; missing with the reason when the total is not known.
metrology::Finding total_finding(std::optional<double> mean_percent,
                                 double u,
                                 int n,
                                 metrology::CriteriaSet const& criteria,
                                 std::string const& why_missing);

}  // namespace gw::visit
