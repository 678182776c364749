#pragma once
/// Areas: the plain sum for a peak that stands alone; where neighbours meet, the sum between
/// borders corrected by what the fitted shapes carry across them.
#include <span>
#include <vector>

#include "trace/survey.hpp"

namespace gw::trace {

/// raw: the samples as recorded, for clipping.
std::vector<Peak> measured_peaks(Survey const& survey,
                                 Regions const& regions,
                                 std::span<float const> raw,
                                 int detector);

}  // namespace gw::trace
