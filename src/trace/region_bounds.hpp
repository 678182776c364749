#pragma once
/// Where each peak starts and ends, and where neighbours that meet share a border.
#include "trace/survey.hpp"

namespace gw::trace {

/// Sets first, last, width_s and the joins of every peak of `regions`.
void bound_peaks(Survey const& survey, Regions& regions);

}  // namespace gw::trace
