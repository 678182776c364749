#pragma once
/// The background's splines through block sums, with steps where valves leave them: equations
/// solved once, asked for each run.
#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "trace/block_kernels.hpp"

namespace gw::trace {

/// The background of one run, used anew for each: one number per block, at its middle, and
/// blocks_behind more that mean nothing.
struct LaidGround {
    std::vector<double> level;  ///< unit, less what the block sums were less by
    std::vector<float> above;   ///< of each block's sum, what the level does not make
    std::vector<double> steps;  ///< the height of each, unit
    std::vector<double> splines, left;
};

class PlanGround {
  public:
    PlanGround() = default;
    /// step_blocks: the first whole block after each step, in order; the block it falls into must
    /// not be free.
    PlanGround(std::size_t samples,
               double interval_s,
               double stiffness_s,
               std::vector<std::uint8_t> const& free_blocks,
               std::vector<std::size_t> step_blocks = {});
    /// block_sum: one per block, and blocks_behind more.
    void lay(std::vector<float> const& block_sum, LaidGround& out) const;

  private:
    void solve(double* c) const;  // of the splines alone, in place
    void fit_steps(std::vector<float> const& block_sum, double mean, LaidGround& out) const;

    std::size_t blocks_{};
    // Of every block, the weights of the four splines there, and the first of them.
    std::vector<double> weights_;
    std::vector<std::uint32_t> first_spline_;
    std::vector<KnotSpan> free_, all_;  // parts between two knots: of free blocks; of all of them
    std::vector<std::size_t> behind_;   // of each of all_: how many steps lie before it
    std::vector<double> of_one_;        // what blocks of ones give the splines' right side
    // A = L D L': three below the diagonal of L, whose diagonal is 1, and the inverse of D's.
    std::vector<std::array<double, 3>> lower_;
    std::vector<double> inverse_;
    // Steps border the banded equations: their columns solved through them, and the inverse of what
    // is then left for the steps alone.
    std::vector<std::size_t> step_blocks_;
    std::vector<std::vector<double>> through_;
    std::vector<double> rest_inverse_;
};

}  // namespace gw::trace
