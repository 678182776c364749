#pragma once
/// A map of the error of the calorific value over two components of a range.
#include <string>

#include "assay/performance.hpp"
#include "report/canvas.hpp"

namespace gw::report {

/// Shade and number say the same: darker is further from zero, warm above it, cool below; a dashed
/// edge is drawn round what lies outside the limit. Rings: reference gases; disc: calibration gas.
void draw_performance_map(Canvas& canvas,
                          Box box,
                          assay::PerformanceSpec const& spec,
                          assay::PerformanceMap const& map);
/// What the figure says, for those who cannot see it.
std::string performance_map_description(assay::PerformanceSpec const& spec,
                                        assay::PerformanceMap const& map);

}  // namespace gw::report
