#pragma once
/// Peaks that stand together, measured in a run without the shapes of the run before: searched anew
/// on the background that is known, or their shapes fitted anew. For the follower alone.
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "trace/cluster_fit.hpp"
#include "trace/survey.hpp"

namespace gw::trace {

/// A peak that stands alone, or those of a cluster.
struct PlannedGroup {
    std::size_t first_peak{}, last_peak{};  ///< of the plan's, [first, last)
    std::size_t from{}, to{};               ///< samples it is fitted over, with room at both ends
    std::size_t low{}, high{};  ///< samples it is searched over: up to half way to the next group
    std::vector<Emg> shapes;    ///< times in seconds, as in the planned run
    double area{};              ///< of all of them
    double excess{};            ///< of the fit's weighted squares over what noise makes of them
    double widest_s{};          ///< half width of its widest peak
    bool overlapped = false;    ///< a resolution below one: fitted anew in every run
};

/// Samples of one run above the background, and what they are sampled with.
struct GroupSignal {
    std::span<double const> above;
    double start_s{}, interval_s{};
    double fast{}, rms{}, grain{};  ///< noise as the careful search tells it, of this run
    PeakOptions const& options;
};

/// The shapes of a run. shift_s: how much later than in the plan its peaks are expected. None where
/// the shapes do not describe the run as well as they did the planned one, or are no longer the
/// same peaks.
std::optional<ClusterFit> fit_again(PlannedGroup const& planned,
                                    GroupSignal const& signal,
                                    double shift_s);

/// The careful search among these samples: the regions of its peaks, counted from the first sample.
/// None where the signal does not come from the background and go back to it, where something else
/// than peaks shows, or where a peak is not alone and whole.
std::optional<std::vector<Region>> search_again(PlannedGroup const& planned,
                                                GroupSignal const& signal);

/// Where a shape has its middle, and how wide it is: standard deviations of both parts together.
double centre_of(Emg const& shape);
double width_of(Emg const& shape);

}  // namespace gw::trace
