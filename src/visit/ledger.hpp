#pragma once
/// What still stands between a person and a signature.
#include <string>
#include <vector>

#include "metrology/finding.hpp"
#include "visit/visit_state.hpp"

namespace gw::visit {

struct LedgerLine {
    std::string what, why;
    bool work = false,
         conformity = false;  ///< which statement it stands against; neither: to be listed
};

struct Ledger {
    std::vector<LedgerLine> lines;
    bool may_sign_work = false, may_sign_conformity = false;
};

/// work (work complete and left safe): every safety step of every stage that was entered is
/// evidenced, passed by a second named person or does not apply; of a completed or running visit,
/// of every stage; when the visit ended otherwise after the analyser was opened and before it was
/// restored, a way back taken to its end. Failed findings are listed and do not forbid it.
/// conformity: every required finding as left meets its limit and is not provisional, and what it
/// rests on (certificates read back, runs) is evidenced and not overridden.
Ledger ledger(VisitState const& visit, std::vector<metrology::Finding> const& findings);

}  // namespace gw::visit
