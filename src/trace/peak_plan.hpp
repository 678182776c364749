#pragma once
/// What one run showed, made ready for holding the next against it: where each peak stands and how
/// it is shaped, where nothing stands, and the equations of the background.
#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "trace/plan_ground.hpp"
#include "trace/settled.hpp"

namespace gw::trace {

/// Sums over blocks and the roughness of each, of one signal.
struct BlockSums {
    std::vector<double> sum;        ///< of the samples of each whole block
    std::vector<double> roughness;  ///< of squared third differences beginning in it
};
void block_sums(std::span<float const> y, BlockSums& out);

/// What peak `of` leaves between the borders of another, in its cluster's shapes.
struct Spill {
    std::size_t of{};
    double area{};              ///< unit x s, inside the borders
    std::vector<double> whole;  ///< running sum over the samples of the window and its margins
};

struct PlannedPeak {
    Peak peak;                           ///< as the careful search gave it
    std::size_t first{}, last{};         ///< samples it is summed over, [first, last)
    std::size_t from{}, to{};            ///< its window: the same with room for a shift
    std::size_t core_from{}, core_to{};  ///< where it is above a twentieth of its height
    double top{};                        ///< sample of its apex
    bool joined_before{}, joined_after{};
    std::size_t margin{};       ///< samples of shape kept on either side of the window
    std::vector<double> shape;  ///< signal above background over the window and margins
    std::vector<double> whole;  ///< running sum of it: whole[i] is that of shape[0..i)
    std::vector<Spill> spills;  ///< of its neighbours into it
    double beyond{};            ///< unit x s: its own area beyond its borders
    double u_noise{};           ///< of its area, from the noise of the run it was planned by
    double u_shape{};           ///< of its area, because its shape is not exactly the fitted one
};

struct PeakPlan {
    std::size_t samples{};
    double interval_s{}, start_s{};
    double fast{}, rms{}, slow{1};  ///< noise as the careful search told it; slow: a variance ratio
    double roughness{};             ///< mean squared third difference where nothing stands
    Noise noise;
    std::vector<SignalEvent> kicks;
    std::vector<BaselineStep> steps;
    std::vector<std::size_t> fitted_steps;  ///< those of them that each run fits anew, by index
    std::vector<std::uint8_t> free_blocks;
    struct Disturbed {
        std::size_t first{}, last{};  ///< blocks
        double most{};                ///< largest mean above the background there
    };
    std::vector<Disturbed> disturbed;
    PlanGround ground;
    std::vector<PlannedPeak> peaks;
};

/// None, with the reason, where the run is not as simple as following asks: overlap below a
/// resolution of 1, steps, gaps, clipping, dips, peaks at an end or hardly above
/// the noise.
std::optional<PeakPlan> peak_plan(Trace const& trace,
                                  int detector,
                                  DetectorPeaks const& found,
                                  Settled const& settled,
                                  std::string& reason);

}  // namespace gw::trace
