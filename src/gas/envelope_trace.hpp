#pragma once
/// The continuation behind phase_envelope: one line of boundary points from low pressure on, over
/// the critical point where it has one. Knows nothing of other phases than the two.
#include "gas/incipient_phase.hpp"

namespace gw::gas {

struct EnvelopeTrace {
    std::vector<PhaseEnvelope::Point> points;
    std::optional<PhasePoint> critical;
    EnvelopeEnd end = EnvelopeEnd::lost;
};
/// None when there is no such point at options.start_p.
std::optional<EnvelopeTrace> envelope_trace(CubicMixture const& mixture,
                                            std::span<double const> z,
                                            Boundary boundary,
                                            EnvelopeOptions const& options);

PhasePoint phase_point(std::vector<double> const& X);

}  // namespace gw::gas
