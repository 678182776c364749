#pragma once
/// A visit as data and as a page of text.
#include <optional>
#include <string>
#include <vector>

#include "base/json.hpp"
#include "metrology/finding.hpp"
#include "visit/ledger.hpp"
#include "visit/signature.hpp"
#include "visit/visit_state.hpp"

namespace gw::visit {

struct VisitShown {
    VisitState state;
    std::vector<metrology::Finding> findings;
    Ledger ledger;
    std::vector<std::string> warnings;
    Instant now;                        ///< for the minutes that the permit still runs
    std::vector<Signature> signatures;  ///< checked, oldest first
};

/// Minutes until the permit ends; none without its end.
std::optional<double> permit_minutes_left(VisitState const& visit, Instant now);

Json visit_json(VisitShown const& shown);
/// What now, with its cautions; the stages; what still stands between a person and a signature.
std::string visit_text(VisitShown const& shown);

}  // namespace gw::visit
