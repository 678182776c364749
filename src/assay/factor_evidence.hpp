#pragma once
/// What response factors say by themselves: their order on one detector, and how they lie against
/// the published responses or against the analyser's own history. It shows wrong certificate
/// entries, cuts, co-elution and lost or added gas; it does not show truth.
#include <optional>
#include <string>
#include <vector>

#include "assay/calibration.hpp"
#include "trace/report_table.hpp"

namespace gw::assay {

struct FactorPoint {
    gas::Component component;
    double factor{};      ///< area per amount, any common unit
    double relative_u{};  ///< 0 when not known
    int detector = 1;
};

/// Relative molar response in helium, benzene = 100; C6+ by its heavy end (default split when
/// empty). None where nothing is published.
std::optional<double> published_response(gas::Component component,
                                         gas::Characterisation const& heavy_end);

struct OffendingPair {
    gas::Component lower, higher;  ///< the first should have the smaller factor and has not
};

struct PatternPoint {
    gas::Component component;
    int detector = 1;
    double departure{};   ///< ln(factor / published response) less the middle of its detector's
    double relative_u{};  ///< of the factor; 0 when not known
};

struct FactorEvidence {
    std::vector<OffendingPair>
        pairs;  ///< within one detector, known order only, beyond twice the pair's u
    bool order_testable = false;  ///< at least two components of the known order on one detector
    std::vector<PatternPoint> pattern;    ///< detectors with three or more published components
    std::optional<PatternPoint> largest;  ///< departure of largest size
};

/// heavy_end: what the C6+ factor was made with; when empty C6+ counts in the pattern only outside
/// the responses of pure hexanes and heptane, between which any split lies.
FactorEvidence factor_evidence(std::vector<FactorPoint> const& factors,
                               gas::Characterisation const& heavy_end);

/// The factors of a report as area per amount: printed ones by their stated kind, else area over
/// mole_percent (or over the certified amount, when a cylinder is given). A kind not stated is told
/// by which way the factors run with the published responses.
struct ReportFactors {
    std::vector<FactorPoint> points;
    std::string how;  ///< for people: where the factors came from
    std::vector<std::string> warnings;
};
ReportFactors factors_of(trace::ReportTable const& report, Cylinder const* cylinder);

}  // namespace gw::assay
