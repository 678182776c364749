#pragma once
/// The first answer, from one printed report and nothing else: what its factors, sums and totals
/// say, and up to three suspects.
#include <optional>
#include <string>
#include <vector>

#include "assay/cylinder.hpp"
#include "metrology/metrology.hpp"
#include "trace/report_table.hpp"
#include "visit/factor_picture.hpp"

namespace gw::visit {

struct Suspect {
    std::string id, title;
    double weight{};  ///< orders the list; no probability
    std::vector<std::string> because;
    std::string confirm;  ///< the test that would settle it
};

struct Look {
    std::vector<metrology::Finding> findings;  ///< factor_order, factor_pattern, certificate_sum,
                                               ///< certificate_cv, unnormalised_total
    metrology::Verdict verdict{};
    std::vector<Suspect> suspects;  ///< at most three, strongest first
    FactorPicture factors;          ///< what the findings on the factors are made of
    std::string heading;
    std::vector<std::string> warnings;
};

/// cylinder: the certificate of the gas that was run, when it is at hand. Limits: `criteria`
/// (custody by habit).
Result<Look> look(trace::ReportTable const& report,
                  assay::Cylinder const* cylinder,
                  metrology::CriteriaSet const& criteria,
                  Date on);

Json look_json(Look const& look);
std::string look_text(Look const& look);

}  // namespace gw::visit
