#include "assay/cylinder_check.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "base/text.hpp"

namespace gw::assay {

namespace {

using metrology::CriteriaSet;
using metrology::Criterion;
using metrology::Finding;
using metrology::judge;
using metrology::Rule;
using metrology::Verdict;

constexpr double finest_digit =
    1e-6;  // mol/mol: more decimals than 1e-4 mol% are not printed but computed
constexpr double usual_lowest_kpa = 700.0;  // common practice, no source: change at 7 to 14 bar
constexpr double share_of_the_limit =
    1.0 / 3;  // common practice: uncertainty of the gas in its limit

Finding blank(Cylinder const& cylinder, char const* id, char const* title, char const* unit) {
    Finding f;
    f.id = id;
    f.title = title;
    f.unit = unit;
    f.inputs = {cylinder.sha256};
    if (cylinder.sha256.empty()) f.inputs.clear();
    return f;
}

/// Limit of the cylinder itself, required unless the criteria say otherwise.
Criterion own_limit(std::optional<double> low,
                    std::optional<double> high,
                    char const* unit,
                    std::string source) {
    Criterion c;
    c.low = low;
    c.high = high;
    c.unit = unit;
    c.rule = Rule::simple;
    c.required = true;
    c.source = std::move(source);
    return c;
}

void judge_by(Finding& finding, CriteriaSet const& criteria, Criterion const& otherwise) {
    auto const* stated = criteria.find(finding.id);
    judge(finding, stated ? stated : &otherwise);
}

Finding certificate_sum(Cylinder const& cylinder, CriteriaSet const& criteria) {
    auto f = blank(cylinder, "certificate_sum", "Sum of the printed amounts", "mol%");
    auto const rounded = [](double percent) {
        return std::round(percent * 1e9) / 1e9;
    };  // no noise at the edge
    double const digit = std::max(cylinder.last_digit, finest_digit);
    double const allowed =
        100 * 0.5 * digit * std::sqrt(static_cast<double>(cylinder.printed_amounts));
    auto const limit = own_limit(rounded(100 - allowed),
                                 rounded(100 + allowed),
                                 "mol%",
                                 "rounding: half of the last printed digit times sqrt(n)");
    if (cylinder.balance_by_difference) {
        f.verdict = Verdict::not_applicable;
        f.note = "The balance is printed without value: the sum is a hundred by construction.";
    } else {
        f.value = rounded(100 * cylinder.printed.total());
    }
    judge_by(f, criteria, limit);
    return f;
}

/// Reference conditions at which the printed value would be right, for the note of a failure.
std::string conditions_that_fit(Cylinder const& cylinder, Finding const& finding) {
    using enum gas::CombustionTemperature;
    using M = gas::MeteringTemperature;
    struct Pair {
        gas::CombustionTemperature combustion;
        gas::MeteringTemperature metering;
    };
    constexpr std::array pairs = {Pair{c15, M::c15},
                                  Pair{c25, M::c0},
                                  Pair{c0, M::c0},
                                  Pair{c25, M::c15},
                                  Pair{c15, M::c0},
                                  Pair{c20, M::c20},
                                  Pair{c25, M::c20},
                                  Pair{f60, M::f60}};
    for (auto const& pair : pairs) {
        auto at = cylinder.stated_calorific_value->at;
        at.combustion = pair.combustion;
        at.metering = pair.metering;
        auto const cv = certified_calorific_value(cylinder, at);
        if (!cv) continue;
        double const percent = 100 * (cylinder.stated_calorific_value->mj_per_m3 / cv->value - 1);
        if ((!finding.low || percent >= *finding.low) &&
            (!finding.high || percent <= *finding.high))
            return fmt::format("It would agree at {} degC combustion and {} degC metering.",
                               gas::in_celsius(pair.combustion),
                               gas::in_celsius(pair.metering));
    }
    return "It agrees at no usual reference conditions.";
}

Result<Finding> certificate_cv(Cylinder const& cylinder, CriteriaSet const& criteria) {
    auto f =
        blank(cylinder, "certificate_cv", "Printed calorific value against its composition", "%");
    auto const* limit = criteria.find(f.id);
    if (!cylinder.stated_calorific_value) {
        judge(f, limit);
        f.required = false;
        f.note = "The certificate prints no calorific value.";
        return f;
    }
    auto const& stated = *cylinder.stated_calorific_value;
    GW_TRY(auto const cv, certified_calorific_value(cylinder, stated.at));
    f.value = 100 * (stated.mj_per_m3 / cv.value - 1);
    judge(f, limit);
    if (f.verdict == Verdict::fails) f.note = conditions_that_fit(cylinder, f);
    return f;
}

Finding expiry(Cylinder const& cylinder, CriteriaSet const& criteria, Date on) {
    auto f = blank(cylinder, "expiry", "Days until the certificate expires", "days");
    if (cylinder.expires) {
        f.value = static_cast<double>(days_between(on, *cylinder.expires));
    } else {
        f.note = "The certificate states no date of expiry.";
    }
    judge_by(f, criteria, own_limit(0, std::nullopt, "days", "the certificate"));
    return f;
}

Finding pressure(Cylinder const& cylinder, CriteriaSet const& criteria) {
    auto f = blank(cylinder, "pressure", "Pressure left", "kPa");
    auto const rounded = [](Pressure p) { return std::round(in_kilopascal(p) * 1e6) / 1e6; };
    if (cylinder.pressure) {
        f.value = rounded(*cylinder.pressure);
    } else {
        f.note = "The pressure was not recorded.";
    }
    auto const limit =
        cylinder.minimum_pressure
            ? own_limit(rounded(*cylinder.minimum_pressure), std::nullopt, "kPa", "the certificate")
            : own_limit(usual_lowest_kpa, std::nullopt, "kPa", "common practice, no source");
    judge_by(f, criteria, limit);
    return f;
}

Finding cold_exposure(Cylinder const& cylinder,
                      CriteriaSet const& criteria,
                      std::optional<Temperature> ambient) {
    auto f = blank(cylinder, "cold_exposure", "Coldest the cylinder has been", "degC");
    auto const rounded = [](Temperature t) { return std::round(in_celsius(t) * 1e9) / 1e9; };
    auto coldest = cylinder.coldest_recorded;
    if (ambient && (!coldest || *ambient < *coldest)) coldest = ambient;
    if (coldest) f.value = rounded(*coldest);
    if (cylinder.minimum_storage) {
        judge_by(
            f,
            criteria,
            own_limit(rounded(*cylinder.minimum_storage), std::nullopt, "degC", "the certificate"));
    } else if (auto const* stated = criteria.find(f.id)) {
        judge(f, stated);
    } else {
        f.verdict = Verdict::missing;
        f.rule = Rule::simple;
    }
    if (!coldest || f.verdict == Verdict::missing) {
        f.required = false;
        f.note = coldest
                     ? "The certificate states no lowest storage temperature."
                     : "No coldest temperature is recorded and no ambient temperature is given.";
    } else if (f.verdict == Verdict::fails) {
        f.note =
            "Heavy components may have condensed: warm it above the limit for a day, roll it, and "
            "prove "
            "it before use.";
    }
    return f;
}

/// Half of the distance between the limits; the distance from zero when one side is open.
std::optional<double> half_width(Criterion const& c) {
    if (c.low && c.high) return 0.5 * (*c.high - *c.low);
    if (c.high) return std::abs(*c.high);
    if (c.low) return std::abs(*c.low);
    return std::nullopt;
}

Result<Finding> can_decide(Cylinder const& cylinder,
                           CriteriaSet const& criteria,
                           std::vector<std::string>& warnings) {
    auto f = blank(cylinder, "can_decide", "Uncertainty of its calorific value (2 u)", "%");
    auto const at = cylinder.stated_calorific_value ? cylinder.stated_calorific_value->at
                                                    : gas::Iso6976Options{};
    GW_TRY(auto const cv, certified_calorific_value(cylinder, at));
    if (cv.u) f.value = 100 * 2 * *cv.u / cv.value;
    auto const* bias = criteria.find("cv_bias");
    auto const limit = bias ? half_width(*bias) : std::nullopt;
    if (auto const* stated = criteria.find(f.id)) {
        judge(f, stated);
    } else if (limit) {
        auto const decides = own_limit(std::nullopt,
                                       *limit,
                                       bias->unit.empty() ? "%" : bias->unit.c_str(),
                                       "limit of cv_bias: " + bias->source);
        judge(f, &decides);
    } else {
        judge(f, nullptr);
        f.rule = Rule::simple;
        f.note = "The criteria set no limit of cv_bias for this cylinder to decide.";
    }
    if (!f.value) {
        f.note =
            "The certificate states no uncertainty, so it cannot be said what this cylinder can "
            "decide.";
    } else if (f.verdict == Verdict::fails) {
        f.note = "This cylinder cannot decide the limit: its own uncertainty is larger.";
    } else if (f.verdict == Verdict::meets && f.high && *f.value > share_of_the_limit * *f.high) {
        f.note = "More than a third of the limit (common practice): few results will be clear.";
        warnings.push_back(
            fmt::format("Cylinder {}: its uncertainty takes {:.0f} % of the calorific value limit.",
                        cylinder.serial,
                        100 * *f.value / *f.high));
    }
    return f;
}

bool has_unsplit_c6_plus(Cylinder const& cylinder) {
    auto const& list = cylinder.printed.components;
    return cylinder.printed.characterisation.parts.empty() &&
           std::find(list.begin(), list.end(), gas::c6_plus) != list.end();
}

}  // namespace

Result<CylinderCheck> cylinder_check(Cylinder const& cylinder,
                                     CriteriaSet const& criteria,
                                     CylinderCheckOptions const& options) {
    CylinderCheck out;
    out.warnings = cylinder.warnings;
    if (has_unsplit_c6_plus(cylinder))
        out.warnings.push_back("C6+ is certified as a lump; it was valued with " +
                               gas::default_characterisation().origin + ".");
    if (cylinder.certified && *cylinder.certified > options.on)
        out.warnings.push_back(
            fmt::format("The certificate is dated {}, after the day of the check, {}.",
                        to_text(*cylinder.certified),
                        to_text(options.on)));
    out.findings.push_back(certificate_sum(cylinder, criteria));
    GW_TRY(auto cv, certificate_cv(cylinder, criteria));
    out.findings.push_back(std::move(cv));
    out.findings.push_back(expiry(cylinder, criteria, options.on));
    out.findings.push_back(pressure(cylinder, criteria));
    out.findings.push_back(cold_exposure(cylinder, criteria, options.ambient));
    GW_TRY(auto decides, can_decide(cylinder, criteria, out.warnings));
    out.findings.push_back(std::move(decides));
    out.verdict = metrology::overall(out.findings);
    return out;
}

}  // namespace gw::assay
