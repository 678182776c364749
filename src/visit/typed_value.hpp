#pragma once
/// A value that somebody typed for a step of a visit.
#include "visit/visit_acts.hpp"

namespace gw::visit {

/// Reads `request.value` as what the step wants: a reading with its unit, the offset of a clock, a
/// time; else words. Writes "value", "kind", "number", "u" and "unit" into `body`. Refuses an empty
/// value, an unknown unit, an uncertainty without a number, a safety reading without unit.
Result<> read_typed_value(VisitState const& visit,
                          Step const& step,
                          AddRequest const& request,
                          Act const& act,
                          Json& body);

}  // namespace gw::visit
