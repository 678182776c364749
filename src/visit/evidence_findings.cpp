#include "visit/evidence_findings.hpp"

#include <fmt/format.h>

#include <cmath>
#include <set>

#include "base/text.hpp"

namespace gw::visit {

using metrology::Finding;
using metrology::Verdict;

Finding factor_order_finding(assay::FactorEvidence const& evidence,
                             metrology::CriteriaSet const& criteria) {
    Finding f;
    f.id = "factor_order";
    f.title = "Factors in the order of the detector";
    f.unit = "pairs";
    if (!evidence.order_testable) {
        f.verdict = Verdict::not_applicable;
        f.note =
            "No two components of the known order are measured by one detector with areas or "
            "factors stated.";
    } else {
        f.value = static_cast<double>(evidence.pairs.size());
        std::vector<std::string> pairs;
        for (auto const& p : evidence.pairs)
            pairs.push_back(fmt::format("{} over {}", gas::name(p.lower), gas::name(p.higher)));
        if (!pairs.empty()) {
            bool const many = pairs.size() > 5;
            if (many) pairs.resize(5);
            f.note = "Out of order: " + joined(pairs, ", ") + (many ? " and more." : ".");
        }
    }
    metrology::judge(f, criteria.find(f.id));
    return f;
}

Finding factor_pattern_finding(assay::FactorEvidence const& evidence,
                               metrology::CriteriaSet const& criteria) {
    Finding f;
    f.id = "factor_pattern";
    f.title = "Largest departure from the published responses";
    f.unit = "%";
    if (!evidence.largest) {
        f.verdict = Verdict::not_applicable;
        f.note = "Too few components with published responses on one detector.";
    } else {
        f.value = 100 * std::expm1(evidence.largest->departure);
        f.note = fmt::format(
            "{}; against published responses only, so weak evidence until the analyser's own "
            "history is known.",
            gas::name(evidence.largest->component));
    }
    metrology::judge(f, criteria.find(f.id));
    return f;
}

Finding passport_pattern_finding(std::vector<assay::FactorPoint> const& factors,
                                 assay::Calibration const& passport,
                                 metrology::CriteriaSet const& criteria) {
    Finding f;
    f.id = "factor_pattern";
    f.title = "Largest departure from the passport's factors";
    f.unit = "%";
    std::set<int> detectors;
    for (auto const& point : factors) detectors.insert(point.detector);
    std::optional<double> largest;
    std::string who;
    std::vector<double> middles;
    for (int const detector : detectors) {
        std::vector<double> departures;
        std::vector<assay::FactorPoint const*> points;
        for (auto const& point : factors) {
            auto const* before = passport.find(point.component);
            if (point.detector != detector || before == nullptr) continue;
            departures.push_back(std::log(point.factor / before->value));
            points.push_back(&point);
        }
        if (departures.size() < 3) continue;
        double const middle = metrology::median(departures);
        middles.push_back(middle);
        for (std::size_t i = 0; i < points.size(); ++i)
            if (!largest || std::abs(departures[i] - middle) > std::abs(*largest)) {
                largest = departures[i] - middle;
                who = gas::name(points[i]->component);
            }
    }
    if (!largest) {
        f.verdict = Verdict::not_applicable;
        f.note = "The passport shares fewer than three components of one detector.";
    } else {
        f.value = 100 * std::expm1(*largest);
        double const shared = metrology::median(middles);
        f.note = fmt::format(
            "{}; against the analyser's own passport. All factors together moved by {:.2g} %: "
            "amount injected or flow, no chemistry.",
            who,
            100 * std::expm1(shared));
    }
    metrology::judge(f, criteria.find(f.id));
    return f;
}

Finding total_finding(std::optional<double> mean_percent,
                      double u,
                      int n,
                      metrology::CriteriaSet const& criteria,
                      std::string const& why_missing) {
    Finding f;
    f.id = "unnormalised_total";
    f.title = "Unnormalised total";
    f.unit = "mol%";
    f.value = mean_percent;
    if (mean_percent) {
        if (u > 0) f.u = u;
        f.n = n;
    } else {
        f.note = why_missing;
    }
    metrology::judge(f, criteria.find(f.id), n > 1 ? n - 1 : 0);
    return f;
}

}  // namespace gw::visit
