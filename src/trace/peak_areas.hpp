#pragma once
/// Areas: the plain sum for a peak that stands alone; shares of the sum where neighbours meet.
#include <span>
#include <vector>

#include "trace/peak_regions.hpp"
#include "trace/peaks.hpp"

namespace gw::trace {

/// regions: settled and measured. raw: the samples as recorded, for clipping.
std::vector<Peak> measured_peaks(Regions const& regions, std::span<float const> raw, int detector, PeakOptions const& options);

}  // namespace gw::trace
