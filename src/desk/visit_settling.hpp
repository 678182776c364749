#pragma once
/// What settles in a visit, as it is drawn: readings, fitted curves with their band, when it is
/// expected to be at rest. Shape: "VisitSettling" of data/api.
#include "base/json.hpp"
#include "desk/visit_findings.hpp"

namespace gw::desk {

/// {"visit", "last_entry", "sources": [{"id", "title", "decides", "start", "entry", ...what
/// `visit::settlement_picture_json` gives}]}. Sources: the settling file that stands ("series": the
/// finding `settled` is made of it and of nothing else); and of the runs as left, one reading a
/// run: retention times of all of them ("runs": many readings, but the time of a peak goes a little
/// with its size), and each gas by itself ("calibration", "proving", "line 1": retention times and
/// unnormalised total, on the calibration gas also area over certified amount). start: of t = 0;
/// null where the file counts seconds only. A file that cannot be read is no source; the findings
/// say so.
Json visit_settling_json(visit::VisitState const& visit,
                         VisitFindings const& made,
                         store::Store const& store);

}  // namespace gw::desk
