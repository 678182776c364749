#pragma once
/// One planned peak held against the samples of another run: how much of it, how late, how wide.
/// For the follower alone.
#include <array>
#include <span>
#include <vector>

#include "trace/peak_plan.hpp"

namespace gw::trace {

struct FollowedFit {
    double amount = 1, shift = 0, stretch = 0;  // shift in samples, later is positive
};

// The kept shape between its samples: a cubic through four neighbours.
struct Between {
    std::ptrdiff_t whole{};
    std::array<double, 4> value{}, slope{};
    explicit Between(double at) {
        double const floor = std::floor(at), u = at - floor;
        whole = static_cast<std::ptrdiff_t>(floor);
        value = {0.5 * (-u + 2 * u * u - u * u * u),
                 0.5 * (2 - 5 * u * u + 3 * u * u * u),
                 0.5 * (u + 4 * u * u - 3 * u * u * u),
                 0.5 * (-u * u + u * u * u)};
        slope = {0.5 * (-1 + 4 * u - 3 * u * u),
                 0.5 * (-10 * u + 9 * u * u),
                 0.5 * (1 + 8 * u - 9 * u * u),
                 0.5 * (-2 * u + 3 * u * u)};
    }
};

/// Of levels given at the middles of blocks, the one at a sample.
double level_at(std::vector<double> const& level, std::size_t sample);

/// Least squares of amount, shift and stretch over the peak's core; `move`: all three, else the
/// amount alone. Answers false when it does not settle.
bool fit_core(std::span<float const> y,
              std::vector<double> const& level,
              PlannedPeak const& peak,
              bool move,
              FollowedFit& fit);

}  // namespace gw::trace
