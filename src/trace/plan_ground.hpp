#pragma once
/// The background's splines through block means, with steps where valves leave them: equations
/// solved once, asked for each run.
#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

namespace gw::trace {

/// Samples are taken in blocks: all that is held against noise is held against it in their sums.
inline constexpr std::size_t plan_block = 8;

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
    /// level: one per block, at its middle; steps: the height of each, unit. free_blocks as given
    /// above.
    void lay(std::vector<double> const& block_sum,
             std::vector<std::uint8_t> const& free_blocks,
             std::vector<double>& work,
             std::vector<double>& level,
             std::vector<double>& steps) const;

  private:
    struct Row {
        std::uint32_t first{};
        std::array<double, 4> value{};
    };
    void solve(double* c) const;  // of the splines alone, in place

    std::vector<Row> rows_;                     // one a block
    std::vector<std::array<double, 4>> lower_;  // Cholesky factor: diagonal inverse, three below
    // Steps border the banded equations: their columns solved through them, and the inverse of what
    // is then left for the steps alone.
    std::vector<std::size_t> step_blocks_;
    std::vector<std::vector<double>> through_;
    std::vector<double> rest_inverse_;
};

}  // namespace gw::trace
