#pragma once
/// Which samples belong to which peak and which to the background, settled together: the background
/// needs to know where peaks are, and a peak's ends are where it meets the background.
#include "trace/survey.hpp"

namespace gw::trace {

/// Finds peaks, background and bounds, then the shape of each peak.
Regions settle_regions(Survey const& survey);

}  // namespace gw::trace
