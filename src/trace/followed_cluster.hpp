#pragma once
/// Peaks that meet at a resolution below one: their shapes are fitted anew in every run, from those
/// of the run before. For the follower alone.
#include <cstdint>
#include <optional>
#include <span>
#include <utility>
#include <vector>

#include "trace/cluster_fit.hpp"

namespace gw::trace {

struct PlannedCluster {
    std::size_t first_peak{}, last_peak{};  ///< of the plan's, [first, last)
    std::size_t from{}, to{};               ///< samples it is fitted over, with room at both ends
    std::vector<Emg> shapes;                ///< times in seconds, as in the planned run
    double area{};                          ///< of all of them
    double excess{};  ///< of the fit's weighted squares over what noise makes of them
};

/// The fit of a run. above: its samples above the background, the first of them at from_s, where
/// sample `from` of the plan is expected; ignored: among them. noise: of one of them. None where
/// the shapes do not describe the run as well as they did the planned one, or are no longer the
/// same peaks.
std::optional<ClusterFit> fit_again(PlannedCluster const& planned,
                                    std::span<double const> above,
                                    double from_s,
                                    double interval_s,
                                    double shift_s,
                                    double noise,
                                    std::vector<std::pair<std::size_t, std::size_t>> ignored);

/// Where a shape has its middle, and how wide it is: standard deviations of both parts together.
double centre_of(Emg const& shape);
double width_of(Emg const& shape);

}  // namespace gw::trace
