#pragma once
/// One run as a value: its composition, its calorific value, and what the analyser itself had
/// printed.
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "assay/composition_of_run.hpp"
#include "trace/report_table.hpp"

namespace gw::visit {

/// A run as it came: areas under the method's names where a method was given, the printed report
/// where it is one, or both.
struct ProofRun {
    std::string source, hash;
    std::optional<assay::RunAreas> areas;
    std::optional<trace::ReportTable> report;
    std::optional<double> ambient_kpa;  ///< pressure of the air, where the run logs it
};

struct ValuedRun {
    std::string source, hash;
    gas::Composition gas;  ///< normalised, C6+ lumped
    std::optional<double>
        total;    ///< unnormalised, mol/mol; none when only normalised amounts are known
    double cv{};  ///< real gross calorific value, in the unit of its standard
    std::vector<std::pair<gas::Component, double>>
        printed_difference;                       ///< recomputed less printed, mol%
    std::optional<double> printed_cv_difference;  ///< recomputed over printed composition, percent
};

struct Valuation {
    gas::Reference reference;
    assay::Method const* method = nullptr;
    assay::Calibration const* calibration = nullptr;
    gas::Characterisation heavy_end;  ///< of the gas that ran
};

/// With method and calibration the areas are recomputed; else the printed amounts are taken.
/// warnings: of the run, appended.
Result<ValuedRun> valued(ProofRun const& run,
                         Valuation const& how,
                         std::vector<std::string>& warnings);

/// Calorific value of a lumped composition and its gradient to the lumped fractions.
Result<gas::CvGradient> lumped_cv_gradient(gas::Composition const& gas,
                                           gas::Characterisation const& heavy_end,
                                           gas::Reference const& reference);

/// The heavy end a cylinder holds: its own components that a C6+ peak lumps, as shares; empty when
/// none.
gas::Characterisation heavy_end_of(assay::Cylinder const& cylinder, assay::Method const* method);

/// The certified amounts (normalised, mol/mol) and covariance under the names of `components`: what
/// elutes in a C6+ peak is summed. Components of the certificate that none of the names stands for
/// are listed.
struct CertifiedAmounts {
    std::vector<double> x;
    SquareMatrix V;  ///< empty when the certificate states no uncertainty
    std::vector<gas::Component> unnamed;
};
CertifiedAmounts certified_amounts(assay::Cylinder const& cylinder,
                                   std::vector<gas::Component> const& components,
                                   assay::Method const* method);

}  // namespace gw::visit
