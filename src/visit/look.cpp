#include "visit/look.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <nlohmann/json.hpp>

#include "assay/cylinder_check.hpp"
#include "base/text.hpp"
#include "visit/evidence_findings.hpp"
#include "visit/suspects.hpp"
#include "visit/valued_run.hpp"

namespace gw::visit {

using metrology::Criterion;
using metrology::Finding;
using metrology::Rule;
using metrology::Verdict;

namespace {

constexpr double sum_allowance =
    0.02;  // mol%: a report rounds its amounts, and rounds them again when printing

// The printed amounts as a certificate would be: do they total a hundred?
Finding sum_finding(trace::ReportTable const& report) {
    Finding f;
    f.id = "certificate_sum";
    f.title = "Sum of the printed amounts";
    f.unit = "mol%";
    auto const sum = report.mole_percent_sum();
    // Amounts that are a measurement, normalised or not, say nothing of the certificate.
    bool const measured = report.normalised.has_value() || report.unnormalised_total.has_value();
    if (!sum || measured) {
        f.verdict = Verdict::not_applicable;
        f.note =
            sum ? "The printed amounts are measured ones; give the certificate with --cylinder."
                : "The report prints no amounts.";
    } else {
        f.value = std::round(*sum * 1e9) / 1e9;
    }
    Criterion limit;
    limit.low = 100 - sum_allowance;
    limit.high = 100 + sum_allowance;
    limit.unit = "mol%";
    limit.rule = Rule::simple;
    limit.source = "rounding of a printed report (common practice, no source)";
    metrology::judge(f, &limit);
    return f;
}

struct Reference {
    double combustion_c, metering_c;
};
constexpr std::array<Reference, 8> usual_references{
    {{15, 15}, {25, 0}, {0, 0}, {15.55, 15.55}, {25, 20}, {20, 20}, {25, 15}, {15, 0}}};

// The printed calorific value against the one its own composition gives, at whichever usual
// reference fits best.
Result<Finding> cv_finding(trace::ReportTable const& report,
                           metrology::CriteriaSet const& criteria,
                           bool& mismatch) {
    Finding f;
    f.id = "certificate_cv";
    f.title = "Printed calorific value against its composition";
    f.unit = "%";
    if (!report.printed_cv || !report.mole_percent_sum()) {
        f.verdict = Verdict::not_applicable;
        f.note = report.printed_cv ? "The report prints no amounts."
                                   : "The report prints no calorific value.";
        metrology::judge(f, criteria.find(f.id));
        return f;
    }
    GW_TRY(auto const printed, assay::printed_composition(report));
    std::optional<double> best;
    Reference at{};
    for (auto const& reference : usual_references) {
        gas::Iso6976Options options;
        GW_TRY(options.combustion, gas::combustion_temperature(reference.combustion_c));
        GW_TRY(options.metering, gas::metering_temperature(reference.metering_c));
        GW_TRY(auto const value, lumped_cv_gradient(printed.gas, {}, options));
        for (double const unit :
             {1.0, 1 / 3.6, 26.839192}) {  // MJ/m3, kWh/m3, Btu/ft3 (at the same conditions)
            double const off = 100 * (*report.printed_cv / (value.value.value * unit) - 1);
            // The first reference is the rule; another must fit clearly better to be believed.
            if (!best || std::abs(off) < 0.25 * std::abs(*best) - 1e-9) best = off, at = reference;
        }
    }
    f.value = best;
    f.note = fmt::format(
        "Against combustion {} degC, metering {} degC.", at.combustion_c, at.metering_c);
    metrology::judge(f, criteria.find(f.id));
    mismatch = f.verdict == Verdict::fails;
    return f;
}

}  // namespace

Result<Look> look(trace::ReportTable const& report,
                  assay::Cylinder const* cylinder,
                  metrology::CriteriaSet const& criteria,
                  Date on) {
    Look out;
    out.warnings = report.warnings;
    LookEvidence evidence;
    evidence.report = &report;
    evidence.cylinder = cylinder;

    auto const factors = assay::factors_of(report, cylinder);
    auto const heavy =
        cylinder != nullptr ? heavy_end_of(*cylinder, nullptr) : gas::Characterisation{};
    evidence.factors = assay::factor_evidence(factors.points, heavy);
    evidence.factor_faults = factors.warnings;
    out.heading = fmt::format("{}: {} components, {}",
                              report.source,
                              report.rows.size(),
                              factors.points.empty() ? "no factors" : factors.how);
    out.findings.push_back(factor_order_finding(evidence.factors, criteria));
    out.findings.push_back(factor_pattern_finding(evidence.factors, criteria));
    out.factors = factor_picture(factors.points, evidence.factors, nullptr, {}, criteria);

    if (cylinder != nullptr) {
        assay::CylinderCheckOptions options;
        options.on = on;
        GW_TRY(auto const check, assay::cylinder_check(*cylinder, criteria, options));
        for (auto f : check.findings) {
            if (f.id != "certificate_sum" && f.id != "certificate_cv" && f.id != "expiry") continue;
            if (f.verdict == Verdict::missing)
                f.required = false;  // a first look asks for nothing more
            out.findings.push_back(std::move(f));
        }
    } else {
        out.findings.push_back(sum_finding(report));
        GW_TRY(auto cv, cv_finding(report, criteria, evidence.cv_mismatch));
        out.findings.push_back(std::move(cv));
    }
    for (auto const& f : out.findings) {
        if (f.id == "certificate_sum" && f.verdict == Verdict::fails)
            evidence.certificate_off = *f.value - 100;
        if (f.id == "certificate_cv" && f.verdict == Verdict::fails) {
            evidence.cv_mismatch = true;
            evidence.cv_note = fmt::format(
                "The printed calorific value is {} % off its own composition.", fixed(*f.value, 3));
        }
    }

    bool const shows_nothing = report.normalised.value_or(false) && !report.unnormalised_total;
    std::optional<double> total = report.unnormalised_total;
    if (!total && !shows_nothing) total = report.mole_percent_sum();
    evidence.total_percent = total;
    auto f = total_finding(total,
                           0,
                           1,
                           criteria,
                           shows_nothing ? "The amounts are normalised: their sum shows nothing."
                                         : "The report prints no amounts.");
    if (!total) {
        f.verdict = Verdict::not_applicable;  // a first look refuses nobody for what the report
                                              // does not print
    }
    out.findings.push_back(std::move(f));

    out.verdict = metrology::overall(out.findings);
    out.suspects = suspects(evidence);
    return out;
}

Json look_json(Look const& look) {
    Json out = metrology::findings_json(look.findings);
    Json list = Json::array();
    for (auto const& s : look.suspects)
        list.push_back(
            Json{{"id", s.id}, {"title", s.title}, {"because", s.because}, {"confirm", s.confirm}});
    out["suspects"] = std::move(list);
    out["factors"] = factor_picture_json(look.factors);
    out["warnings"] = look.warnings;
    return out;
}

std::string look_text(Look const& look) {
    std::string out = look.heading + "\n\n" + metrology::findings_table(look.findings) +
                      fmt::format("\nVerdict: {}\n", metrology::name(look.verdict));
    if (look.suspects.empty()) {
        out +=
            "\nNothing in this report points to a fault. It cannot show that the analyser reads "
            "right: that takes a gas it was not calibrated with.\n";
        return out;
    }
    out += "\nSuspects, strongest first\n";
    int number = 0;
    for (auto const& s : look.suspects) {
        out += fmt::format("{}. {}\n", ++number, s.title);
        for (auto const& b : s.because) out += "   " + b + "\n";
        out += "   To settle it: " + s.confirm + "\n";
    }
    return out;
}

}  // namespace gw::visit
