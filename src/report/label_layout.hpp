#pragma once
/// Where labels stand along an axis when what they point at stands too close together.
#include <cstddef>
#include <vector>

namespace gw::report {

struct LabelWish {
    double at{};       ///< where it would stand, pt
    double highest{};  ///< furthest place it may take, pt (its own length counts)
    double weight{};   ///< when there is no room for all, the lightest goes first
};

struct LabelPlace {
    std::size_t wish{};  ///< index of the wish
    double at{};         ///< pt
};

/// Places at least `apart` from each other, none below `lowest`, in the order of the wishes (which
/// are in order of `at`): as near to the wishes as least squares allow (pool adjacent violators),
/// then moved off the edges. What finds no room is left out, lightest first.
std::vector<LabelPlace> spread_labels(std::vector<LabelWish> const& wishes,
                                      double apart,
                                      double lowest);

/// Round steps (1, 2 or 5 times a power of ten) from `low` to `high`, about `wanted` of them; empty
/// when the range is empty.
std::vector<double> round_ticks(double low, double high, int wanted);
/// Decimals that tell such steps apart.
int tick_decimals(std::vector<double> const& ticks);

}  // namespace gw::report
