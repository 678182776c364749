#pragma once
/// The times of a visit by one trusted clock. Three devices stamp what happens on site, and each is
/// off by its own amount; the steps "clock of the ..." of a plan say by how much.
#include "visit/visit_state.hpp"

namespace gw::visit {

/// What a clock was found to be fast, in milliseconds; nought when it was not compared.
std::int64_t clock_offset_ms(VisitState const& visit, std::string_view clock);

/// Fills Evidence::trusted wherever the clock that gave the time was compared in this visit, before
/// or after; a time that a person typed is that person's word and stays. Then marks what was
/// written down late and what is older than a step that must come before it, each judged by trusted
/// times where they are there.
void order_by_trusted_time(VisitState& visit);

}  // namespace gw::visit
