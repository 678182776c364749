#include "visit/prove.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.hpp"
#include "visit/evidence_findings.hpp"
#include "visit/proof_series.hpp"

namespace gw::visit {

using metrology::Verdict;

namespace {

bool same_cylinder(ProofInputs const& in) {
    return in.calibration_cylinder && in.proving_cylinder && !in.proving_cylinder->serial.empty() &&
           in.proving_cylinder->serial == in.calibration_cylinder->serial;
}

Finding missing(std::string id, std::string title, std::string unit, std::string note) {
    Finding f;
    f.id = std::move(id);
    f.title = std::move(title);
    f.unit = std::move(unit);
    f.note = std::move(note);
    f.verdict = Verdict::missing;
    return f;
}

void add_repeatability(Judge& judge, Series const& runs, std::string const& gas) {
    bool const enough = runs.n() >= 3;
    auto const why = fmt::format("{} run{} on the {} gas; three are the least that show scatter.",
                                 runs.n(),
                                 runs.n() == 1 ? "" : "s",
                                 gas);
    Finding cv =
        missing("cv_repeatability", "Repeatability of the calorific value", "%", enough ? "" : why);
    if (enough) cv.value = 100 * runs.cv_sd() / runs.cv_mean();
    cv.gas = gas;
    cv.n = runs.n();
    cv.inputs = runs.hashes();
    judge.add(std::move(cv));
}

void add_component_repeatability(Judge& judge, Series const& runs, std::string const& gas) {
    if (runs.n() < 3) return;  // said once, at cv_repeatability
    for (std::size_t i = 0; i < runs.components.size(); ++i) {
        Finding f;
        f.id = percent_id("component_repeatability", runs.components[i]);
        f.title = fmt::format("Repeatability of {}", gas::name(runs.components[i]));
        f.unit = "mol%";
        f.value = 100 * metrology::standard_deviation(runs.x[i]);
        f.gas = gas;
        f.n = runs.n();
        f.inputs = runs.hashes();
        judge.add(std::move(f));
    }
}

void add_total(Judge& judge,
               Series const& runs,
               std::string const& gas,
               std::string const& stream) {
    std::vector<double> totals;
    for (auto const& r : runs.runs)
        if (r.total) totals.push_back(100 * *r.total);
    std::optional<double> mean;
    if (!totals.empty()) mean = metrology::mean(totals);
    double const u = totals.size() > 1 ? metrology::standard_deviation(totals) /
                                             std::sqrt(static_cast<double>(totals.size()))
                                       : 0;
    auto f = total_finding(mean,
                           u,
                           static_cast<int>(totals.size()),
                           judge.in.criteria,
                           "The runs state normalised amounts only: their sum shows nothing.");
    f.gas = gas;
    f.stream = stream;
    f.basis = judge.in.basis;
    f.inputs = runs.hashes();
    judge.findings.push_back(std::move(f));
}

// Factors as area per amount: of the calibration, else of the reports on calibration gas.
std::vector<assay::FactorPoint> factor_points(ProofInputs const& in,
                                              std::vector<std::string>& warnings) {
    std::vector<assay::FactorPoint> out;
    if (in.calibration) {
        for (auto const& f : in.calibration->factors)
            if (!f.borrowed) out.push_back({f.component, f.value, f.u / f.value, f.detector});
        return out;
    }
    for (auto const& run : in.calibration_gas) {
        if (!run.report) continue;
        auto const factors = assay::factors_of(
            *run.report, in.calibration_cylinder ? &*in.calibration_cylinder : nullptr);
        warnings.insert(warnings.end(), factors.warnings.begin(), factors.warnings.end());
        return factors.points;  // the runs of one calibration print the same factors
    }
    return out;
}

void add_factor_shifts(Judge& judge) {
    auto const& in = judge.in;
    if (!in.previous || !in.calibration) return;
    for (auto const& now : in.calibration->factors) {
        auto const* before = in.previous->find(now.component);
        if (before == nullptr) continue;
        Finding f;
        f.id = percent_id("factor_shift", now.component);
        f.title = fmt::format("Factor of {} against the last accepted", gas::name(now.component));
        f.unit = "%";
        f.value = 100 * (now.value / before->value - 1);
        f.u = 100 * now.value / before->value *
              std::hypot(now.u / now.value, before->u / before->value);
        f.note =
            "Expected after an exchange, a new cylinder or a corrected certificate; without one of "
            "these it is a warning.";
        f.inputs = {in.calibration->hash, in.previous->hash};
        judge.add(std::move(f));
    }
}

void check_dates(ProofInputs const& in, std::vector<std::string>& warnings) {
    auto const check = [&](std::optional<assay::Cylinder> const& cylinder, char const* which) {
        if (cylinder && cylinder->expires && cylinder->expires->days < in.on.days)
            warnings.push_back(fmt::format(
                "The {} cylinder {} expired on {}: its certificate no longer stands behind it.",
                which,
                cylinder->serial,
                to_text(*cylinder->expires)));
    };
    check(in.calibration_cylinder, "calibration");
    check(in.proving_cylinder, "proving");
    if (!in.calibration_cylinder || !in.proving_cylinder || same_cylinder(in)) return;
    auto const& proving = *in.proving_cylinder;
    bool const stated = std::find(proving.independent_of.begin(),
                                  proving.independent_of.end(),
                                  in.calibration_cylinder->serial) != proving.independent_of.end();
    if (!stated && !proving.laboratory.empty() &&
        proving.laboratory == in.calibration_cylinder->laboratory)
        warnings.push_back(
            "Both certificates come from one laboratory and nothing states that they share no "
            "parent: a common error would not show.");
}

}  // namespace

Result<Proof> prove(ProofInputs const& in) {
    Proof out;
    out.cv_unit = gas::cv_unit(in.reference);
    Judge judge{in, {}};
    Valuation how{in.reference,
                  in.method ? &*in.method : nullptr,
                  in.calibration ? &*in.calibration : nullptr,
                  {}};
    auto const of_cylinder = [&](std::optional<assay::Cylinder> const& cylinder) {
        auto split = cylinder ? heavy_end_of(*cylinder, how.method) : gas::Characterisation{};
        return split;
    };
    how.heavy_end = of_cylinder(in.calibration_cylinder);
    GW_TRY(auto const calibration, series(in.calibration_gas, how, out.warnings));
    how.heavy_end = of_cylinder(in.proving_cylinder);
    GW_TRY(auto const proving, series(in.proving_gas, how, out.warnings));
    std::vector<std::pair<std::string, Series>> lines;
    if (!in.line_gas.empty()) {
        how.heavy_end =
            assay::line_gas_characterisation({}, how.method, how.calibration, out.warnings);
        for (auto const& [stream, runs] : in.line_gas) {
            GW_TRY(auto line, series(runs, how, out.warnings));
            lines.emplace_back(stream, std::move(line));
        }
    }
    check_dates(in, out.warnings);

    std::string const bias_title = "Calorific value on the proving gas, indicated less certified";
    bool const proven = in.proving_cylinder && proving.n() > 0 && !same_cylinder(in);
    if (proven) {
        GW_TRY(auto const bias, cv_bias(in, proving, *in.proving_cylinder, false, out.warnings));
        add_bias(judge, "cv_bias", bias_title, "proving", proving, bias);
        out.evidence.shared_u_percent = bias.u_unseen;
    } else {
        judge.add(missing(
            "cv_bias",
            bias_title,
            "%",
            same_cylinder(in)
                ? "The proving cylinder is the calibration cylinder: it shows memory, not truth."
            : !in.proving_cylinder
                ? "No proving gas: only a gas the analyser was not calibrated with shows truth."
                : "No run on the proving gas."));
    }
    if (in.calibration_cylinder && calibration.n() > 0) {
        GW_TRY(auto const bias,
               cv_bias(in, calibration, *in.calibration_cylinder, true, out.warnings));
        add_bias(judge,
                 "cv_self_check",
                 "Calorific value on its own calibration gas",
                 "calibration",
                 calibration,
                 bias);
    }
    bool const by_proving = proving.n() > 0;
    Series const& repeated = by_proving ? proving : calibration;
    std::string const repeated_gas = by_proving ? "proving" : "calibration";
    add_repeatability(judge, repeated, repeated_gas);
    if (proven) {
        add_component_bias(judge, proving, *in.proving_cylinder, out.warnings);
        GW_CHECK(add_property_bias(judge, proving, *in.proving_cylinder));
    }
    add_component_repeatability(judge, repeated, repeated_gas);
    if (repeated.n() > 0) add_total(judge, repeated, repeated_gas, "");
    for (auto const& [stream, line] : lines)
        if (line.n() > 0) add_total(judge, line, "line", stream);

    auto const points = factor_points(in, out.warnings);
    auto const heavy = in.calibration && !in.calibration->heavy_end.parts.empty()
                           ? in.calibration->heavy_end
                           : of_cylinder(in.calibration_cylinder);
    auto const evidence = assay::factor_evidence(points, heavy);
    judge.findings.push_back(factor_order_finding(evidence, in.criteria));
    std::optional<PassportPattern> passport;
    if (in.passport) passport = passport_pattern(points, *in.passport);
    judge.findings.push_back(passport ? passport_pattern_finding(*passport, in.criteria)
                                      : factor_pattern_finding(evidence, in.criteria));
    add_factor_shifts(judge);
    out.factors = factor_picture(
        points, evidence, passport ? &*passport : nullptr, judge.findings, in.criteria);

    out.findings = std::move(judge.findings);
    out.verdict = metrology::overall(out.findings);
    auto const list = [&](Series const& s, char const* gas, std::string const& stream) {
        for (auto const& r : s.runs) out.runs.push_back({gas, stream, r});
    };
    list(calibration, "calibration", "");
    list(proving, "proving", "");
    for (auto const& [stream, line] : lines) list(line, "line", stream);
    std::vector<std::string> once;
    for (auto& w : out.warnings)
        if (std::find(once.begin(), once.end(), w) == once.end()) once.push_back(std::move(w));
    out.warnings = std::move(once);
    out.evidence = proof_evidence(in, out);
    return out;
}

}  // namespace gw::visit
