#pragma once
/// Peaks that meet are described together.
#include <vector>

#include "trace/emg.hpp"
#include "trace/survey.hpp"

namespace gw::trace {

/// Peaks [first, last) of the regions that meet above the background.
struct Cluster {
    std::size_t first{}, last{};
};

std::vector<Cluster> clusters(std::vector<Region> const& peaks);

/// What a valve may have left about a known event that shows nothing; common practice, no source.
inline constexpr double event_before_s = 0.06, event_after_s = 0.4;

/// Samples of [first, last), counted from first, that a kick or a known event may have left
/// something in.
std::vector<std::pair<std::size_t, std::size_t>> disturbed_samples(Survey const& survey,
                                                                   std::size_t first,
                                                                   std::size_t last);

/// First guess of the shape of a peak, and of those of a cluster.
Emg first_shape(Survey const& survey, Region const& peak);
std::vector<Emg> first_shapes(Survey const& survey, Regions const& regions, Cluster const& cluster);

}  // namespace gw::trace
