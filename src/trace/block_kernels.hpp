#pragma once
/// The sums that following a run is made of, by the widest vectors the processor has. Whatever that
/// width, numbers are taken in eight lanes and added in one order, so that every processor gives
/// the same bits. For the follower alone; see docs/decisions/0070-eight-lanes-of-any-width.md.
///
/// Samples are taken in blocks of eight. Arrays that are read or written in whole eights say so:
/// their owner keeps room for it.
#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

namespace gw::trace {

/// Samples in a block, and lanes of every sum.
inline constexpr std::size_t plan_block = 8;

constexpr std::size_t in_eights(std::size_t n) {
    return (n + plan_block - 1) / plan_block * plan_block;
}

/// Room that an array with one number per block has behind the last: eights may begin anywhere.
inline constexpr std::size_t blocks_behind = 8;

/// The sum of (y - from) over each whole block of y. `sum` has room for blocks_behind more; what is
/// written there means nothing.
void block_sums(std::span<float const> y, float from, float* sum);

/// Squared third differences that begin in blocks [first, last). Those of the last block of a
/// signal reach beyond it: last x 8 + 3 <= y.size().
struct Roughness {
    double total{};  ///< of all samples, unit^2
    float most{};    ///< of one block
};
Roughness roughness(std::span<float const> y, std::size_t first, std::size_t last);

/// Blocks [first, last) between two knots of the background, over which the same four splines rule.
/// u: place between the knots, 0 to 1, of the middle of block `first`, and from block to block.
struct KnotSpan {
    std::size_t first{}, last{}, spline{};
    double u{}, u_step{};
};
/// Adds to c[spline .. spline + 3] what the blocks weigh there; weights: four for every block.
void add_moments(KnotSpan const& span, float const* sum, double const* weights, double* c);
/// level[b]: the cubic p0 + p1 u + p2 u^2 + p3 u^3; above[b]: sum[b] less eight times that. Both
/// are written in whole eights from `first` on, and the sums read so: spans are laid in order.
void lay_span(KnotSpan const& span,
              std::array<double, 4> const& cubic,
              float const* sum,
              double* level,
              float* above);

/// What a sum over 1, 2, 4, ... neighbouring blocks may be, as a distance from zero.
struct SumLimits {
    std::array<float, 40> noise{};  ///< index: log2 of the width
};
/// Whether any sum over 1, 2, 4 ... neighbouring blocks stands further from zero than noise x
/// `scale` and the blocks' own tolerances allow; widths up to 8 at every place, where the end cuts
/// a sum short too; wider ones overlap by half. tolerance may be null: none. work: room for 2
/// (blocks + 32) numbers.
bool stands_out(float const* rest,
                float const* tolerance,
                std::size_t blocks,
                SumLimits const& limits,
                float scale,
                float* work);

/// Products of (y - from) with three rows of weights, each in whole eights, zero behind `count`.
/// y is read in whole eights.
std::array<double, 3> row_products(
    float const* y, float from, std::size_t count, float const* a, float const* b, float const* c);

/// A shape's sums over eight samples read between the samples: `tap` points at four neighbouring
/// places, each followed by those eight samples on; `weight` mixes them.
struct ShapeTaps {
    std::array<float const*, 4> tap{};
    std::array<float, 4> weight{};
};
/// out[b] += the mixture, blocks in whole eights.
void add_taps(ShapeTaps const& taps, std::size_t blocks, float* out);
/// rest[b] = above[b] - shape[b], tolerance[b] = part |shape[b]|, blocks in whole eights.
void rest_of(float const* above,
             float const* shape,
             std::size_t blocks,
             float part,
             float* rest,
             float* tolerance);

/// The widths this program can take its lanes in on this processor, narrowest first, by name; and
/// for tests: takes them in that one from here on, all threads; none named: the widest again.
std::vector<std::string> kernel_widths();
void use_kernel_width(std::string const& name);

}  // namespace gw::trace
