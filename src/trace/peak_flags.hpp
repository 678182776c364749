#pragma once
/// What is wrong with a peak's samples: clipped, broken off, or never recorded.
#include "trace/survey.hpp"

namespace gw::trace {

/// A flat top, or samples at the detector's limit. raw: the samples as recorded.
bool is_saturated(Survey const& survey, std::span<float const> raw, Region const& peak);

/// The signal breaks off: at an end of the record, or by a fall at a valve event that no peak
/// makes.
bool is_cut(Survey const& survey, Regions const& regions, Region const& peak);

bool has_gap(Survey const& survey, Region const& peak);

}  // namespace gw::trace
