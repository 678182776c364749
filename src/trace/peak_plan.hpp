#pragma once
/// What one run showed, made ready for holding the next against it: where each peak stands and how
/// it is shaped, where nothing stands, and the equations of the background.
#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "trace/followed_group.hpp"
#include "trace/followed_shape.hpp"
#include "trace/plan_ground.hpp"
#include "trace/settled.hpp"

namespace gw::trace {

/// A peak that shifts by more than this part of its half width is another peak.
inline constexpr double most_shift = 0.35;

/// What peak `of` leaves between the borders of another, in its cluster's shapes.
struct Spill {
    std::size_t of{};
    double area{};                    ///< unit x s, inside the borders
    double left{}, right{};           ///< unit, at the borders
    ShapeSums sums;                   ///< over the window
    std::array<double, 3> in_rows{};  ///< products of the peak's rows with it
};

struct PlannedPeak {
    Peak peak;                           ///< as the careful search gave it
    std::size_t first{}, last{};         ///< samples it is summed over, [first, last)
    std::size_t from{}, to{};            ///< its window: the same with room for a shift
    std::size_t core_from{}, core_to{};  ///< where it is above a twentieth of its height
    double top{};                        ///< sample of its apex
    bool joined_before{}, joined_after{};
    FitRows rows;               ///< over the core
    std::size_t origin{};       ///< sample of the run that the sums below count from
    ShapeSums sums;             ///< of the signal above background over the window, with room
    Widening wider;             ///< how they change as the peak widens
    std::vector<Spill> spills;  ///< of its neighbours into it
    double left{}, right{};     ///< unit: its own shape at borders with neighbours
    double beyond{};            ///< unit x s: its own area beyond its borders
    std::size_t group{};        ///< of the plan's
    double u_noise{};           ///< of its area, from the noise of the run it was planned by
    double u_shape{};           ///< of its area, because its shape is not exactly the fitted one
};

/// Where nothing stands, and what was seen there.
struct FreeGround {
    struct Blocks {
        std::size_t first{}, last{};
    };
    std::vector<Blocks> free;
    double roughness{};      ///< mean squared third difference
    double rough_samples{};  ///< from so many samples
    /// Root mean square of the sums over 2^k neighbouring blocks, above the background, with room
    /// for how few there were; 0: none.
    std::array<double, 40> sums{};
    /// Variance of means over two seconds, over that of white noise.
    double slow = 1;
    PlanGround ground;
};

struct PeakPlan {
    std::size_t samples{};
    double interval_s{}, start_s{};
    double fast{}, rms{}, grain{},
        slow{1};   ///< noise as the careful search told it; slow: a variance ratio
    float from{};  ///< unit: block sums are of what the signal is above it
    Noise noise;
    std::vector<SignalEvent> kicks;
    std::vector<BaselineStep> steps;
    std::vector<std::size_t> fitted_steps;  ///< those of them that each run fits anew, by index
    struct Disturbed : FreeGround::Blocks {
        double most{};  ///< largest mean above the background there
    };
    std::vector<Disturbed> disturbed;
    /// By the background of the careful search, and with room for peaks that have moved.
    FreeGround close, roomy;
    std::vector<PlannedPeak> peaks;
    std::vector<PlannedGroup> groups;
};

/// Of a run whose blocks stand so far above the background: variance of means over two seconds,
/// over that of white noise of standard deviation `fast`; 1 where hardly any can be told.
double slow_part(FreeGround const& ground,
                 std::span<float const> above,
                 double interval_s,
                 double fast);

/// The roughness of a signal where nothing stands: the sum over all of it, and the most of a block.
Roughness roughness(std::span<float const> y, std::vector<FreeGround::Blocks> const& free);

/// None, with the reason, where the run is not as simple as following asks: steps under peaks,
/// gaps, clipping, dips, peaks at an end or hardly above the noise.
std::optional<PeakPlan> peak_plan(Trace const& trace,
                                  int detector,
                                  PeakOptions const& options,
                                  DetectorPeaks const& found,
                                  Settled const& settled,
                                  std::string& reason);

}  // namespace gw::trace
