#pragma once
/// One planned peak held against the samples of another run: how much of it, how late, how wide.
/// For the follower alone.
#include <array>
#include <functional>
#include <span>
#include <vector>

#include "trace/block_kernels.hpp"

namespace gw::trace {

struct FollowedFit {
    double amount = 1, shift = 0, stretch = 0;  // shift in samples, later is positive
    double whole = 0;                           // samples the core was moved by
    std::array<double, 3> products{};           // of the rows with what was there
};

/// Rows whose products with a run's samples give amount, shift and stretch of a peak to first
/// order, and what the bend of its shape changes about that. The samples are those of the peak's
/// core, moved by whole samples; the rows' sums and products with the sample's number take a
/// straight background off.
struct FitRows {
    std::vector<float> amount, shift, stretch;  ///< in whole eights, zero behind `count`
    std::size_t count{};
    std::array<double, 3> sum{}, ramp{};
    /// Products of the rows with the shape's second derivative h, with h times the distance x from
    /// the top, with h x x, and with the third derivative.
    std::array<double, 3> bend{}, bend_x{}, bend_xx{}, twist{};
    bool moves = false;        ///< else amount alone is told: a small peak does not tell its shift
    double shift_costs{};      ///< of such a peak: what a shift by one sample takes from the amount
    bool tell_nothing = true;  ///< the equations have no solution
};
/// shape: the signal above background, one number a sample; core: samples [first, last) of it; top:
/// its apex, and half width, in samples; noise: standard deviation of a sample of two runs'
/// difference. A stretch beyond what columns do from run to run is believed only above the noise.
FitRows fit_rows(std::span<double const> shape,
                 std::size_t first,
                 std::size_t last,
                 double top,
                 double half_width,
                 double noise,
                 bool moves);

/// The fit of a run: `core` is the first sample of the peak's core in the planned run. fit.shift is
/// where to begin, and what is taken where the peak does not tell it; beyond `most_shift` it fails.
/// level: less `from`, at the middles of blocks. Answers false when it does not settle.
bool fit_core(std::span<float const> y,
              float from,
              std::span<double const> level,
              FitRows const& rows,
              std::size_t core,
              double most_shift,
              FollowedFit& fit);

/// The same from other products than fit.products: less what is of neighbours.
bool solve(FitRows const& rows, std::array<double, 3> const& products, FollowedFit& fit);
/// Products of the rows with another shape, one number for each sample of what they were made from;
/// first: as there.
std::array<double, 3> products_with(FitRows const& rows,
                                    std::span<double const> shape,
                                    std::size_t first);

/// Of levels given at the middles of blocks, the one at a place given in samples.
double level_at(std::span<double const> level, double sample);

/// Sums of a shape over eight neighbouring samples, from every sample on, laid out so that those of
/// neighbouring blocks are neighbours.
class ShapeSums {
  public:
    ShapeSums() = default;
    /// integral(i): of the shape up to sample i, for all i from `first` to `last` + 8.
    ShapeSums(std::ptrdiff_t first,
              std::ptrdiff_t last,
              std::function<double(std::ptrdiff_t)> const& integral);
    /// The sum from sample i on; eight samples on the next, and in whole eights to read.
    [[nodiscard]] float const* from(std::ptrdiff_t i) const {
        auto const away = static_cast<std::size_t>(i - first_);
        return by_phase_.data() + away % plan_block * rows_ + away / plan_block;
    }

  private:
    std::vector<float> by_phase_;
    std::ptrdiff_t first_{};
    std::size_t rows_{};
};

/// Where sums that begin at sample i + `at` are read between the samples: a cubic through four
/// neighbours, their weights times `amount`.
struct Between {
    std::ptrdiff_t first{};  ///< of the four, from i
    std::array<double, 4> weight{};
    explicit Between(double at);
    [[nodiscard]] ShapeTaps taps(ShapeSums const& sums, std::ptrdiff_t i, double amount) const;
};

/// How a peak's sums change as it widens: of a shape with its top at `top`, the parts that go with
/// the stretch and with half its square.
struct Widening {
    ShapeSums linear, square;
};
Widening widening(std::span<double const> shape, double top, double half_width, std::size_t room);
/// The shape's own sums; beyond its ends it is zero.
ShapeSums sums_of(std::span<double const> shape, std::size_t room);

}  // namespace gw::trace
