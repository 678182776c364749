#pragma once
/// The parts of a proof that its sources share: the runs on one gas seen together, and what judges
/// their bias. Private to the folder.
#include <optional>
#include <string>
#include <vector>

#include "visit/prove.hpp"

namespace gw::visit {

using metrology::Finding;

/// Runs on one gas, seen together.
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
                      std::vector<std::string>& warnings);

struct Judge {
    ProofInputs const& in;
    std::vector<Finding> findings;

    void add(Finding f, double degrees_of_freedom = 0) {
        f.basis = in.basis;
        metrology::judge(f, in.criteria.find(f.id), degrees_of_freedom);
        findings.push_back(std::move(f));
    }
};

/// "component_bias:methane".
std::string percent_id(std::string_view kind, gas::Component c);

/// The bias of the calorific value on a certified gas, percent, with its uncertainty and degrees of
/// freedom.
struct Bias {
    double value{};
    std::optional<double> u;
    double degrees_of_freedom{};
    std::optional<double> u_unseen;  ///< that both certificates may share, percent
    std::string note;
};

/// Nothing states that the two cylinders are independent.
bool shares_parent(ProofInputs const& in);

/// self: on the calibration gas itself, whose certificate cancels.
Result<Bias> cv_bias(ProofInputs const& in,
                     Series const& runs,
                     assay::Cylinder const& cylinder,
                     bool self,
                     std::vector<std::string>& warnings);
void add_bias(Judge& judge,
              std::string const& id,
              std::string const& title,
              std::string const& gas,
              Series const& runs,
              Bias const& bias);
/// Wobbe index and density: the same terms, each through its own gradient.
Result<> add_property_bias(Judge& judge, Series const& runs, assay::Cylinder const& cylinder);
void add_component_bias(Judge& judge,
                        Series const& proving,
                        assay::Cylinder const& cylinder,
                        std::vector<std::string>& warnings);

}  // namespace gw::visit
