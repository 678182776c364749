#pragma once
/// What is wrong with a peak's samples: clipped, or never recorded.
#include "trace/survey.hpp"

namespace gw::trace {

/// A flat top, or samples at the detector's limit. raw: the samples as recorded.
bool is_saturated(Survey const& survey, std::span<float const> raw, Region const& peak);

/// Samples inside it were never recorded.
bool has_gap(Survey const& survey, Region const& peak);

}  // namespace gw::trace
