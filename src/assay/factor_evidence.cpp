#include "assay/factor_evidence.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <nlohmann/json.hpp>
#include <set>

#include "base/text.hpp"
#include "metrology/statistics.hpp"
#include "response_tables.hpp"

namespace gw::assay {

namespace {

struct Responses {
    std::map<gas::Component, double> value;
    std::vector<gas::Component> order;
};

// The table travels inside the program; that it parses is checked by its test, so a fault here is
// ours.
Responses const& responses() {
    static Responses const table = [] {
        Responses out;
        auto const json = Json::parse(generated::response_tables[0].text);
        for (auto const& row : json.at("rows"))
            if (auto const c = gas::find_component(row.at("component").get<std::string>()))
                out.value[*c] = parse_number(row.at("value").get<std::string>()).value_or(0);
        for (auto const& name : json.at("order").at("components"))
            if (auto const c = gas::find_component(name.get<std::string>()))
                out.order.push_back(*c);
        return out;
    }();
    return table;
}

constexpr double pure_hexanes = 116,
                 pure_heptane = 143;  // data/response/helium.json: the ends of what C6+ can be

}  // namespace

std::optional<double> published_response(gas::Component component,
                                         gas::Characterisation const& heavy_end) {
    auto const& table = responses();
    if (component != gas::c6_plus) {
        auto const at = table.value.find(component);
        return at == table.value.end() ? std::nullopt : std::optional(at->second);
    }
    auto const split = heavy_end.parts.empty() ? gas::default_characterisation() : heavy_end;
    double sum = 0;
    for (auto const& [part, share] : split.parts) {
        auto const at = table.value.find(part);
        if (at == table.value.end()) return std::nullopt;
        sum += share * at->second;
    }
    return sum;
}

FactorEvidence factor_evidence(std::vector<FactorPoint> const& factors,
                               gas::Characterisation const& heavy_end) {
    FactorEvidence out;
    auto const& order = responses().order;
    auto const rank = [&](gas::Component c) {
        return std::find(order.begin(), order.end(), c) - order.begin();
    };
    auto const known = [&](gas::Component c) {
        return rank(c) < static_cast<std::ptrdiff_t>(order.size());
    };
    for (auto const& a : factors)
        for (auto const& b : factors) {
            if (a.detector != b.detector || !known(a.component) || !known(b.component) ||
                rank(a.component) >= rank(b.component))
                continue;
            out.order_testable = true;
            double const u = std::hypot(a.relative_u, b.relative_u);
            if (std::log(a.factor / b.factor) > 2 * u)
                out.pairs.push_back({a.component, b.component});
        }
    std::set<int> detectors;
    for (auto const& f : factors) detectors.insert(f.detector);
    for (int const detector : detectors) {
        std::vector<PatternPoint> points;
        std::vector<double> departures;
        for (auto const& f : factors) {
            if (f.detector != detector) continue;
            auto const published = published_response(f.component, heavy_end);
            if (!published) continue;
            points.push_back(
                {f.component, detector, std::log(f.factor / *published), f.relative_u});
            if (f.component != gas::c6_plus) departures.push_back(points.back().departure);
        }
        if (departures.size() < 3) continue;
        double const middle = metrology::median(departures);
        for (auto& p : points) {
            p.departure -= middle;
            if (p.component == gas::c6_plus && heavy_end.parts.empty()) {
                double const published = *published_response(gas::c6_plus, heavy_end);
                double const low = std::log(pure_hexanes / published),
                             high = std::log(pure_heptane / published);
                p.departure -= std::clamp(p.departure, low, high);
            }
            out.pattern.push_back(p);
            if (!out.largest || std::abs(p.departure) > std::abs(out.largest->departure))
                out.largest = p;
        }
    }
    return out;
}

ReportFactors factors_of(trace::ReportTable const& report, Cylinder const* cylinder) {
    ReportFactors out;
    auto const certified = [&](gas::Component c) -> std::optional<double> {
        if (cylinder == nullptr) return std::nullopt;
        double amount = cylinder->printed.fraction(c);
        if (c == gas::c6_plus)
            for (std::size_t i = 0; i < cylinder->printed.components.size(); ++i)
                if (gas::belongs_to_c6_plus(cylinder->printed.components[i]))
                    amount += cylinder->printed.x[i];
        if (amount <= 0) return std::nullopt;
        return 100 * amount;
    };
    std::size_t printed = 0, computed = 0;
    for (auto const& row : report.rows) {
        printed += row.factor && *row.factor > 0 ? 1 : 0;
        computed +=
            row.area && *row.area > 0 &&
                    (certified(row.component) || (row.mole_percent && *row.mole_percent > 0))
                ? 1
                : 0;
    }
    // Areas over certified amounts say what the detector did; a printed factor only what was
    // stored.
    bool const from_areas = computed >= 3 && (cylinder != nullptr || printed < 3);
    for (auto const& row : report.rows) {
        double factor = 0;
        if (from_areas) {
            auto const amount =
                certified(row.component) ? certified(row.component) : row.mole_percent;
            if (row.area && amount && *amount > 0) factor = *row.area / *amount;
        } else if (row.factor) {
            factor = report.factor_kind == trace::FactorKind::amount_per_area && *row.factor > 0
                         ? 1 / *row.factor
                         : *row.factor;
        }
        if (factor > 0) out.points.push_back({row.component, factor, 0, row.detector});
    }
    out.how = from_areas ? (cylinder != nullptr ? "areas over the certified amounts"
                                                : "areas over the printed amounts")
                         : "factors as printed";
    if (!from_areas && report.factor_kind != trace::FactorKind::area_per_amount &&
        report.factor_kind != trace::FactorKind::amount_per_area && out.points.size() >= 3) {
        // Which way do they run? Area per amount rises with the published response, amount per area
        // falls.
        double sx = 0, sy = 0, sxy = 0, n = 0;
        for (auto const& p : out.points)
            if (auto const published = published_response(p.component, {})) {
                double const x = std::log(*published), y = std::log(p.factor);
                sx += x, sy += y, sxy += x * y, n += 1;
            }
        if (n >= 3 && sxy - sx * sy / n < 0) {
            for (auto& p : out.points) p.factor = 1 / p.factor;
            out.how =
                "factors as printed, taken as amount per area because they fall where responses "
                "rise";
        } else {
            out.how =
                "factors as printed, taken as area per amount because they rise with the responses";
        }
    }
    // A printed factor that its own area and amount do not give was not made from them.
    if (printed >= 3 && report.factor_kind != trace::FactorKind::relative &&
        report.factor_kind != trace::FactorKind::not_stated) {
        std::vector<std::pair<gas::Component, double>> ratios;
        std::vector<double> logs;
        for (auto const& row : report.rows) {
            if (!row.factor || !row.area || !row.mole_percent || *row.factor <= 0 ||
                *row.area <= 0 || *row.mole_percent <= 0)
                continue;
            double const implied = *row.area / *row.mole_percent;
            double const stored = report.factor_kind == trace::FactorKind::amount_per_area
                                      ? 1 / *row.factor
                                      : *row.factor;
            ratios.emplace_back(row.component, std::log(stored / implied));
            logs.push_back(ratios.back().second);
        }
        if (logs.size() >= 3) {
            double const middle = metrology::median(logs);
            for (auto const& [component, ln] : ratios)
                if (std::abs(ln - middle) > 0.01)
                    out.warnings.push_back(
                        fmt::format("The printed factor of {} is {} % off what its own area and "
                                    "amount give, against the other components.",
                                    gas::name(component),
                                    fixed(100 * std::expm1(ln - middle), 1)));
        }
    }
    return out;
}

}  // namespace gw::assay
