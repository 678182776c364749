#include "visit/prove.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.hpp"
#include "gas/property_sums.hpp"
#include "visit/evidence_findings.hpp"

namespace gw::visit {

using metrology::Finding;
using metrology::Verdict;

namespace {

// Runs on one gas, seen together.
struct Series {
    std::vector<ValuedRun> runs;
    std::vector<double> cv;
    std::vector<gas::Component> components;  // reported by every run
    std::vector<std::vector<double>> x;      // per component, one per run, mol/mol
    gas::Composition mean;                   // of those components

    [[nodiscard]] int n() const { return static_cast<int>(runs.size()); }
    [[nodiscard]] double cv_mean() const { return metrology::mean(cv); }
    [[nodiscard]] double cv_sd() const { return metrology::standard_deviation(cv); }
    [[nodiscard]] std::vector<std::string> hashes() const {
        std::vector<std::string> out;
        for (auto const& r : runs) out.push_back(r.hash);
        return out;
    }
};

Result<Series> series(std::vector<ProofRun> const& runs,
                      Valuation const& how,
                      std::vector<std::string>& warnings) {
    Series out;
    for (auto const& run : runs) {
        GW_TRY(auto value, valued(run, how, warnings));
        out.cv.push_back(value.cv);
        out.runs.push_back(std::move(value));
    }
    if (out.runs.empty()) return out;
    for (auto const c : out.runs.front().gas.components) {
        std::vector<double> each;
        for (auto const& r : out.runs) {
            auto const& names = r.gas.components;
            if (std::find(names.begin(), names.end(), c) != names.end())
                each.push_back(r.gas.fraction(c));
        }
        if (each.size() != out.runs.size()) {
            warnings.push_back(fmt::format(
                "Not every run on this gas reports {}; it is left out of the component findings.",
                gas::name(c)));
            continue;
        }
        out.components.push_back(c);
        out.mean.components.push_back(c);
        out.mean.x.push_back(metrology::mean(each));
        out.x.push_back(std::move(each));
    }
    return out;
}

// Covariance of the mean composition that all runs share: calibration gas and calibration runs.
std::optional<SquareMatrix> calibration_covariance(ProofInputs const& in,
                                                   gas::Composition const& mean,
                                                   bool& certificate_silent) {
    std::size_t const n = mean.components.size();
    SquareMatrix relative(n);
    auto const* cylinder = in.calibration_cylinder ? &*in.calibration_cylinder : nullptr;
    if (in.method && in.calibration) {
        for (std::size_t a = 0; a < n; ++a)
            for (std::size_t b = 0; b < n; ++b) {
                auto const *fa = in.calibration->find(mean.components[a]),
                           *fb = in.calibration->find(mean.components[b]);
                if (fa != nullptr && fb != nullptr)
                    relative(a, b) = in.calibration->relative_covariance(
                        static_cast<std::size_t>(fa - in.calibration->factors.data()),
                        static_cast<std::size_t>(fb - in.calibration->factors.data()));
            }
        if (cylinder != nullptr && cylinder->uncertainty == assay::CertificateUncertainty::none)
            certificate_silent = true;
    } else if (cylinder != nullptr) {
        // Every printed amount is the certified one times a ratio of areas: its relative error is
        // the certificate's.
        auto const certified =
            certified_amounts(*cylinder, mean.components, in.method ? &*in.method : nullptr);
        if (certified.V.empty()) {
            certificate_silent = true;
            return std::nullopt;
        }
        for (std::size_t a = 0; a < n; ++a)
            for (std::size_t b = 0; b < n; ++b)
                if (certified.x[a] > 0 && certified.x[b] > 0)
                    relative(a, b) = certified.V(a, b) / (certified.x[a] * certified.x[b]);
    } else {
        return std::nullopt;
    }
    gas::Composition raw = mean;
    raw.V = SquareMatrix(n);
    for (std::size_t a = 0; a < n; ++a)
        for (std::size_t b = 0; b < n; ++b) raw.V(a, b) = relative(a, b) * mean.x[a] * mean.x[b];
    return gas::normalised(raw).V;
}

struct Judge {
    ProofInputs const& in;
    std::vector<Finding> findings;

    void add(Finding f, double degrees_of_freedom = 0) {
        f.basis = in.basis;
        metrology::judge(f, in.criteria.find(f.id), degrees_of_freedom);
        findings.push_back(std::move(f));
    }
};

std::string percent_id(std::string_view kind, gas::Component c) {
    return fmt::format("{}:{}", kind, gas::name(c));
}

bool same_cylinder(ProofInputs const& in) {
    return in.calibration_cylinder && in.proving_cylinder && !in.proving_cylinder->serial.empty() &&
           in.proving_cylinder->serial == in.calibration_cylinder->serial;
}

// The bias of the calorific value on a certified gas, percent, with its uncertainty and degrees of
// freedom.
struct Bias {
    double value{};
    std::optional<double> u;
    double degrees_of_freedom{};
    std::string note;
};

Result<Bias> cv_bias(ProofInputs const& in,
                     Series const& runs,
                     assay::Cylinder const& cylinder,
                     bool self,
                     std::vector<std::string>& warnings) {
    Bias out;
    GW_TRY(auto const certified, assay::certified_calorific_value(cylinder, in.reference));
    double const reference = certified.value;
    out.value = 100 * (runs.cv_mean() / reference - 1);
    std::vector<double> u, df;
    if (runs.n() >= 2) {
        u.push_back(runs.cv_sd() / std::sqrt(runs.n()));
        df.push_back(runs.n() - 1);
    } else if (!runs.runs.front().gas.V.empty()) {
        auto const heavy = heavy_end_of(cylinder, in.method ? &*in.method : nullptr);
        GW_TRY(auto const slope, lumped_cv_gradient(runs.runs.front().gas, heavy, in.reference));
        u.push_back(std::sqrt(quadratic_form(runs.runs.front().gas.V, slope.per_fraction)));
        df.push_back(0);
        out.note = "One run: its scatter is taken from the calibration. ";
    } else {
        out.note = "One run: its scatter is not known. ";
        return out;
    }
    if (self) {  // the certificate stands on both sides and cancels
        out.u = 100 * u.front() / reference;
        out.degrees_of_freedom = df.front();
        out.note += "Shows only that the analyser repeats what it was told.";
        return out;
    }
    bool silent = cylinder.uncertainty == assay::CertificateUncertainty::none;
    if (certified.u) u.push_back(*certified.u), df.push_back(0);
    bool calibration_silent = false;
    if (auto const V = calibration_covariance(in, runs.mean, calibration_silent)) {
        auto const heavy = heavy_end_of(cylinder, in.method ? &*in.method : nullptr);
        GW_TRY(auto const slope, lumped_cv_gradient(runs.mean, heavy, in.reference));
        u.push_back(std::sqrt(quadratic_form(*V, slope.per_fraction)));
        df.push_back(0);
    } else if (!in.calibration_cylinder) {
        warnings.emplace_back(
            "No calibration cylinder is named: its certificate is not in the uncertainty of the "
            "bias.");
    }
    silent = silent || calibration_silent;
    double squares = 0;
    for (double const each : u) squares += each * each;
    if (!silent) {
        out.u = 100 * std::sqrt(squares) / reference;
        out.degrees_of_freedom = metrology::effective_degrees_of_freedom(u, df);
    } else {
        out.note += "A certificate states no uncertainty, so conformity cannot be shown. ";
    }
    return out;
}

void add_bias(Judge& judge,
              std::string const& id,
              std::string const& title,
              std::string const& gas,
              Series const& runs,
              Bias const& bias) {
    Finding f;
    f.id = id;
    f.title = title;
    f.unit = "%";
    f.value = bias.value;
    f.u = bias.u;
    f.gas = gas;
    f.n = runs.n();
    f.inputs = runs.hashes();
    f.note = std::string(trimmed(bias.note));
    judge.add(std::move(f), bias.degrees_of_freedom);
}

// Bias of Wobbe index and density on the proving gas: the same terms as for the calorific value,
// each through its own gradient.
Result<> add_property_bias(Judge& judge, Series const& runs, assay::Cylinder const& cylinder) {
    auto const& in = judge.in;
    auto const* reference = std::get_if<gas::Iso6976Options>(&in.reference);
    if (reference == nullptr) return {};  // GPA 2172 states neither with its uncertainty
    auto const* method = in.method ? &*in.method : nullptr;
    auto heavy = heavy_end_of(cylinder, method);
    if (heavy.parts.empty()) heavy = gas::default_characterisation();
    auto const certified = certified_amounts(cylinder, runs.components, method);
    bool silent = certified.V.empty() || runs.n() < 2;
    auto const common = calibration_covariance(in, runs.mean, silent);
    GW_TRY(auto const sums, gas::PropertySums::prepare(runs.components, heavy, *reference));
    std::size_t const n = runs.components.size();
    auto const scaled = [](std::vector<double> x) {
        double total = 0;
        for (double const each : x) total += each;
        for (double& each : x) each /= total;
        return x;
    };
    std::vector<double> gradient(gas::real_property_count * n);
    auto const truth = sums.values(scaled(certified.x), gradient);
    std::vector<gas::PropertySums::Values> each;
    for (std::size_t r = 0; r < runs.runs.size(); ++r) {
        std::vector<double> x(n);
        for (std::size_t i = 0; i < n; ++i) x[i] = runs.x[i][r];
        each.push_back(sums.values(scaled(std::move(x))));
    }
    struct Row {
        char const *id, *title;
        gas::RealProperty property;
    };
    for (auto const& row :
         {Row{"wobbe_bias", "Wobbe index on the proving gas", gas::RealProperty::gross_wobbe},
          Row{"density_bias", "Density on the proving gas", gas::RealProperty::density}}) {
        auto const p = static_cast<std::size_t>(row.property);
        std::vector<double> values;
        for (auto const& v : each) values.push_back(100 * (v[p] / truth[p] - 1));
        std::span<double const> const g(gradient.data() + p * n, n);
        Finding f;
        f.id = row.id;
        f.title = row.title;
        f.unit = "%";
        f.gas = "proving";
        f.n = runs.n();
        f.inputs = runs.hashes();
        f.value = metrology::mean(values);
        double df = 0;
        if (!silent) {
            auto const percent = [&](SquareMatrix const& V) {
                return 100 * std::sqrt(quadratic_form(V, g)) / truth[p];
            };
            std::vector<double> const u = {
                metrology::standard_deviation(values) / std::sqrt(runs.n()),
                percent(certified.V),
                common ? percent(*common) : 0.0};
            std::vector<double> const freedom = {static_cast<double>(runs.n() - 1), 0, 0};
            f.u = std::sqrt(u[0] * u[0] + u[1] * u[1] + u[2] * u[2]);
            df = metrology::effective_degrees_of_freedom(u, freedom);
        }
        judge.add(std::move(f), df);
    }
    return {};
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

void add_components(Judge& judge,
                    Series const& proving,
                    assay::Cylinder const& cylinder,
                    std::vector<std::string>& warnings) {
    auto const& in = judge.in;
    auto const certified =
        certified_amounts(cylinder, proving.components, in.method ? &*in.method : nullptr);
    for (auto const c : certified.unnamed)
        warnings.push_back(
            fmt::format("The proving gas holds {}, which the runs do not report.", gas::name(c)));
    bool silent = certified.V.empty();
    bool calibration_silent = false;
    auto const common = calibration_covariance(in, proving.mean, calibration_silent);
    silent = silent || calibration_silent;
    for (std::size_t i = 0; i < proving.components.size(); ++i) {
        Finding f;
        f.id = percent_id("component_bias", proving.components[i]);
        f.title = fmt::format("Bias of {}", gas::name(proving.components[i]));
        f.unit = "mol%";
        f.gas = "proving";
        f.n = proving.n();
        f.inputs = proving.hashes();
        f.value = 100 * (proving.mean.x[i] - certified.x[i]);
        double const scatter = metrology::standard_deviation(proving.x[i]) / std::sqrt(proving.n());
        double df = 0;
        if (!silent && proving.n() >= 2) {
            std::vector<double> const u = {
                scatter,
                std::sqrt(std::max(0.0, certified.V(i, i))),
                common ? std::sqrt(std::max(0.0, (*common)(i, i))) : 0.0};
            std::vector<double> const each = {static_cast<double>(proving.n() - 1), 0, 0};
            f.u = 100 * std::sqrt(u[0] * u[0] + u[1] * u[1] + u[2] * u[2]);
            df = metrology::effective_degrees_of_freedom(u, each);
        }
        judge.add(std::move(f), df);
    }
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
        add_components(judge, proving, *in.proving_cylinder, out.warnings);
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
    judge.findings.push_back(in.passport
                                 ? passport_pattern_finding(points, *in.passport, in.criteria)
                                 : factor_pattern_finding(evidence, in.criteria));
    add_factor_shifts(judge);

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
