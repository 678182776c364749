#pragma once
/// What the valve events of a programme do to every reported peak: how much of it falls outside its
/// own place between the valleys, and how much of its neighbours falls inside.
#include <vector>

#include "oven/simulate.hpp"

namespace gw::oven {

struct PeakShare {
    gas::Component reported_as;
    std::size_t detector{};
    double amount{};  ///< mole fraction in the gas
    double whole{};   ///< area that all of it would give
    double kept{};    ///< own area between the valleys
    double gained{};  ///< area of others there
    double from_s{}, to_s{}, apex_s{};

    /// Shares of the peak's own whole area.
    [[nodiscard]] double loss() const { return 1 - kept / whole; }
    [[nodiscard]] double gain() const { return gained / whole; }
};

/// One entry for each reported peak that the gas holds, in the order of the method's species.
/// Valleys: the lowest point of a detector's total between the apexes of neighbouring peaks.
std::vector<PeakShare> peak_shares(Oven const& oven,
                                   std::vector<double> const& amounts,
                                   Simulated const& run);

}  // namespace gw::oven
