#include "visit/evidence_findings.hpp"

#include <fmt/format.h>

#include <algorithm>
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

PassportPattern passport_pattern(std::vector<assay::FactorPoint> const& factors,
                                 assay::Calibration const& passport) {
    PassportPattern out;
    std::set<int> detectors;
    for (auto const& point : factors) detectors.insert(point.detector);
    std::vector<double> middles;
    for (int const detector : detectors) {
        std::vector<double> departures;
        std::vector<assay::PatternPoint> points;
        for (auto const& point : factors) {
            auto const* before = passport.find(point.component);
            if (point.detector != detector || before == nullptr) continue;
            departures.push_back(std::log(point.factor / before->value));
            points.push_back({point.component,
                              detector,
                              departures.back(),
                              std::hypot(point.relative_u, before->u / before->value)});
        }
        if (departures.size() < 3) continue;
        double const middle = metrology::median(departures);
        middles.push_back(middle);
        for (auto& point : points) {
            point.departure -= middle;
            out.points.push_back(point);
        }
    }
    if (!middles.empty()) out.shared = metrology::median(middles);
    return out;
}

Finding passport_pattern_finding(PassportPattern const& pattern,
                                 metrology::CriteriaSet const& criteria) {
    Finding f;
    f.id = "factor_pattern";
    f.title = "Largest departure from the passport's factors";
    f.unit = "%";
    auto const largest = std::max_element(
        pattern.points.begin(), pattern.points.end(), [](auto const& a, auto const& b) {
            return std::abs(a.departure) < std::abs(b.departure);
        });
    if (largest == pattern.points.end()) {
        f.verdict = Verdict::not_applicable;
        f.note = "The passport shares fewer than three components of one detector.";
    } else {
        f.value = 100 * std::expm1(largest->departure);
        f.note = fmt::format(
            "{}; against the analyser's own passport. All factors together moved by {:.2g} %: "
            "amount injected or flow, no chemistry.",
            gas::name(largest->component),
            100 * std::expm1(pattern.shared));
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
