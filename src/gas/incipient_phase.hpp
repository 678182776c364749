#pragma once
/// One point of a phase boundary: the equations that a feed and a first trace of another phase
/// obey, solved by Newton's method with one variable fixed.
#include <optional>

#include "gas/phase_envelope.hpp"

namespace gw::gas {

/// Starts from X and dX of `guess`; X[spec] is kept at `value`. None when it does not settle within
/// `iterations`, or falls to the trivial solution (both phases alike).
struct Incipient {
    PhaseEnvelope::Point point;
    int iterations{};
};
/// boundary: which root the feed takes where it has several. A nearly pure gas has the same Gibbs
/// energy as its first drop: the roots of lowest energy would change places at every step.
enum class Boundary { dew, bubble };
std::optional<Incipient> incipient_phase(CubicMixture const& mixture,
                                         std::span<double const> z,
                                         Boundary boundary,
                                         std::vector<double> X,
                                         std::size_t spec,
                                         double value,
                                         int iterations = 8);

/// The cubic through two points of the line with their slopes, at X[spec] = value.
std::vector<double> between(PhaseEnvelope::Point const& a,
                            PhaseEnvelope::Point const& b,
                            std::size_t spec,
                            double value);

}  // namespace gw::gas
