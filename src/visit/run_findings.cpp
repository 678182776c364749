#include "visit/run_findings.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace gw::visit {

using metrology::Finding;
using metrology::Verdict;

namespace {

Finding const* find(std::vector<Finding> const& findings, std::string_view id) {
    for (auto const& f : findings)
        if (f.id == id) return &f;
    return nullptr;
}

std::vector<double> values_on(Proof const& proof, std::string_view gas) {
    std::vector<double> out;
    for (auto const& line : proof.runs)
        if (line.gas == gas) out.push_back(line.run.cv);
    return out;
}

// The finding of the series that runs on this gas make together.
std::string_view series_id(std::string_view gas) {
    if (gas == "proving") return "cv_bias";
    if (gas == "calibration") return "cv_self_check";
    return {};
}

Finding without_reference(ProofRunLine const& line) {
    Finding f;
    f.id = "cv";
    f.title = "Calorific value of this run";
    f.unit = "MJ/m3";
    f.value = line.run.cv;
    f.verdict = Verdict::no_limit;
    f.note = "Line gas has no certificate to hold it against.";
    return f;
}

Finding against_certificate(ProofRunLine const& line,
                            Finding const& series,
                            std::vector<double> const& cv,
                            metrology::Criterion const* criterion) {
    Finding f;
    f.id = series.id;
    f.title = series.title;
    f.unit = series.unit;
    double const certified = metrology::mean(cv) / (1 + *series.value / 100);
    f.value = 100 * (line.run.cv / certified - 1);
    double degrees_of_freedom = 0;
    if (series.u && cv.size() >= 2) {
        double const s = 100 * metrology::standard_deviation(cv) / certified;
        double const n = static_cast<double>(cv.size());
        double const shared = std::sqrt(std::max(0.0, *series.u * *series.u - s * s / n));
        std::array const u{s, shared};
        std::array const df{n - 1, 0.0};
        f.u = std::hypot(s, shared);
        degrees_of_freedom = metrology::effective_degrees_of_freedom(u, df);
    } else {
        f.u = series.u;
    }
    metrology::judge(f, criterion, degrees_of_freedom);
    return f;
}

}  // namespace

std::vector<Finding> run_findings(Proof const& proof, metrology::CriteriaSet const& criteria) {
    std::vector<Finding> out;
    for (auto const& line : proof.runs) {
        auto const* series = find(proof.findings, series_id(line.gas));
        auto f = series != nullptr && series->value
                     ? against_certificate(
                           line, *series, values_on(proof, line.gas), criteria.find(series->id))
                     : without_reference(line);
        f.required = false;  // the series decides, never one run
        f.basis = proof.findings.empty() ? "" : proof.findings.front().basis;
        f.gas = line.gas;
        f.stream = line.stream;
        f.n = 1;
        f.inputs = {line.run.hash};
        out.push_back(std::move(f));
    }
    return out;
}

}  // namespace gw::visit
