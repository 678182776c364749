#include "visit/factor_picture.hpp"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

namespace gw::visit {

namespace {

constexpr std::string_view shift_id = "factor_shift:";

FactorSet pattern_set(std::string id,
                      std::string title,
                      std::vector<assay::PatternPoint> const& points,
                      metrology::CriteriaSet const& criteria) {
    FactorSet out{std::move(id), std::move(title), {}};
    for (auto const& point : points) {
        metrology::Finding f;
        f.id = "factor_pattern";
        f.title = std::string(gas::name(point.component));
        f.unit = "%";
        f.value = 100 * std::expm1(point.departure);
        metrology::judge(f, criteria.find(f.id));
        f.required = false;  // the largest decides, never one alone
        if (point.relative_u > 0) f.u = 100 * std::exp(point.departure) * point.relative_u;
        out.marks.push_back({point.component, point.detector, std::move(f)});
    }
    return out;
}

}  // namespace

FactorPicture factor_picture(std::vector<assay::FactorPoint> const& factors,
                             assay::FactorEvidence const& evidence,
                             PassportPattern const* passport,
                             std::vector<metrology::Finding> const& shifts,
                             metrology::CriteriaSet const& criteria) {
    FactorPicture out;
    out.pairs = evidence.pairs;
    if (passport != nullptr && !passport->points.empty())
        out.sets.push_back(pattern_set(
            "passport", "Departure from the passport's factors", passport->points, criteria));
    if (!evidence.pattern.empty())
        out.sets.push_back(pattern_set(
            "published", "Departure from the published responses", evidence.pattern, criteria));
    FactorSet shift{"shift", "New factors against the last accepted", {}};
    for (auto const& finding : shifts) {
        if (!finding.id.starts_with(shift_id)) continue;
        auto const component = gas::find_component(finding.id.substr(shift_id.size()));
        if (!component) continue;
        auto const at = std::find_if(factors.begin(), factors.end(), [&](auto const& point) {
            return point.component == *component;
        });
        shift.marks.push_back({*component, at == factors.end() ? 1 : at->detector, finding});
    }
    if (!shift.marks.empty()) out.sets.push_back(std::move(shift));
    return out;
}

Json factor_picture_json(FactorPicture const& picture) {
    Json sets = Json::array(), pairs = Json::array();
    for (auto const& set : picture.sets) {
        Json marks = Json::array();
        for (auto const& mark : set.marks)
            marks.push_back({{"component", std::string(gas::name(mark.component))},
                             {"detector", mark.detector},
                             {"finding", metrology::finding_json(mark.finding)}});
        sets.push_back({{"id", set.id}, {"title", set.title}, {"marks", std::move(marks)}});
    }
    for (auto const& pair : picture.pairs)
        pairs.push_back({{"lower", std::string(gas::name(pair.lower))},
                         {"higher", std::string(gas::name(pair.higher))}});
    return Json{{"sets", std::move(sets)}, {"pairs", std::move(pairs)}};
}

}  // namespace gw::visit
