#pragma once
/// Weak kicks that passed for peaks: found when the peaks are known, by comparing the two
/// descriptions.
#include "trace/survey.hpp"

namespace gw::trace {

/// Samples at which a kick starts that describes the signal better than the peak reported there.
std::vector<std::size_t> kicks_among_peaks(Survey const& survey, Regions const& regions);

}  // namespace gw::trace
