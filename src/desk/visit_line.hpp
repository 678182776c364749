#pragma once
/// A visit on a line of time: what a page draws of it. Shapes: "VisitLine" and "KeptRun" of
/// data/api.
#include <cstdint>
#include <string>

#include "base/json.hpp"
#include "desk/visit.hpp"
#include "desk/visit_findings.hpp"

namespace gw::desk {

/// {"from", "to", "posts": [{"stage", "at"}], "marks": [{"entry", "at", "step", "gas", "stream",
/// "basis", "title", "verdict", "value": Finding|null, "cv": Quantity}], "series": [{"name",
/// "unit", "at_ms": [...], "values": [...]}], "ready": null|{"at", "from", "to"}}. A mark is a run
/// that stands; its verdict is `not_yet` while nothing could be judged of it. The series are those
/// of the settling file that stands, thinned: oven temperature and the change of retention since
/// its first reading.
Json visit_line_json(visit::VisitState const& visit,
                     VisitFindings const& made,
                     store::Store const& store);

/// The run that an entry of the visit kept, as it is drawn: names and events by the method that
/// stands for its basis. Fails with not_found when the entry kept no run.
Result<Json> kept_run(visit::VisitState const& visit,
                      store::Store const& store,
                      std::int64_t entry);

}  // namespace gw::desk
