#pragma once
/// One component in one column: amounts in equal cells that ride with the gas.
///
/// With D = H u/2 the column obeys, in its own length s = x/L and in the time of one residence
/// t0 (1 + k),   da/dt = -da/ds + (1/2N) d2a/ds2,   whatever the component, so that a step of one
/// cell is an exact move by one cell and a dispersion of M/N cells squared: passes of the
/// three-point kernel (d, 1 - 2d, d) with d at most 1/6, whose mean and variance are those of the
/// Gaussian. At 1/6 so is its fourth moment; below, the excess fades with the steps. All conserves
/// to rounding. Ends are closed: all that is given enters, and only the moving gas carries out.
#include <cstddef>
#include <vector>

#include "oven/curve.hpp"

namespace gw::oven {

class Band {
  public:
    /// cells: of the column. variance: of one step's dispersion, in cells squared, = cells/plates.
    Band(std::size_t cells, double variance);

    [[nodiscard]] bool empty() const { return count_ == 0; }
    [[nodiscard]] double total() const;
    /// Amount of each cell, from the column's inlet as seen going forward.
    [[nodiscard]] std::vector<double> cells() const;
    [[nodiscard]] std::size_t cell_count() const { return column_; }

    /// Gas flows from `begin` to `end`, one cell every `step` seconds; answers what leaves.
    /// share: of the inflow that enters.
    Curve flow(bool backward,
               double begin,
               double end,
               double step,
               Inflow const& inflow,
               double share = 1);
    /// Both ends shut; the band spreads by `variance` cells squared between closed ends.
    void rest(double variance);

  private:
    void mirror();
    void prepend(double amount);
    void spread_one_pass(double d);
    void spread(double variance);
    void trim();
    void make_room(std::size_t left);
    double advance(double inflow);                    ///< one cell; answers what leaves
    double advance_part(double part, double inflow);  ///< a part of a cell
    std::size_t leap(std::size_t most);               ///< many cells at once, far from both ends

    std::size_t column_;  ///< cells of the column
    double variance_;     ///< of one step
    int passes_;
    std::vector<double> store_;  ///< cells [first_, first_ + count_) stand at store_[head_]
    std::size_t head_ = 0, first_ = 0, count_ = 0;
};

}  // namespace gw::oven
