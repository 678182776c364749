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

/// A peak that stands alone, or those that meet or may meet in another run.
struct PlannedGroup {
    std::size_t first_peak{}, last_peak{};  ///< of the plan's, [first, last)
    std::size_t from{}, to{};               ///< samples it is fitted over, with room at both ends
    std::size_t low{}, high{};  ///< samples it is searched over: up to half way to the next group
    std::vector<Emg> shapes;    ///< times in seconds, as in the planned run; none: not told
    double area{};              ///< of all of them
    double excess{};            ///< of the fit's weighted squares over what noise makes of them
    double widest_s{};          ///< half width of its widest peak
    bool overlapped = false;    ///< a resolution below one: fitted anew in every run
};

/// Samples of one run above the background, and what they are sampled with.
struct GroupSignal {
    std::span<double const> above;
    std::span<float const> raw;  ///< the same as recorded
    double start_s{}, interval_s{};
    double fast{}, rms{}, grain{};  ///< noise as the careful search tells it, of this run
    PeakOptions const& options;
};

/// Shapes fitted from these.
ClusterFit fit_group(std::vector<Emg> const& start, GroupSignal const& signal);

/// The shapes of a run. shift_s: how much later than in the plan its peaks are expected. None where
/// they are no longer the same peaks.
std::optional<ClusterFit> fit_again(PlannedGroup const& planned,
                                    GroupSignal const& signal,
                                    double shift_s);

/// Whether the shapes describe the run as well as they did the planned one.
bool as_well(PlannedGroup const& planned, ClusterFit const& fit);

/// The careful search among these samples; regions are counted from the first. None where the
/// signal does not come from the background and go back to it, where something else than these
/// peaks shows, or where a peak has no top of its own.
std::optional<Regions> search_again(PlannedGroup const& planned, GroupSignal const& signal);

/// Whether the careful search would find another peak that only shapes tell.
bool hides_a_peak(Regions regions, GroupSignal const& signal);

/// Where a shape has its middle, and how wide it is: standard deviations of both parts together.
double centre_of(Emg const& shape);
double width_of(Emg const& shape);

}  // namespace gw::trace
