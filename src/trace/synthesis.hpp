#pragma once
/// Invented traces with known truth, for tests and the demo: exponentially modified Gaussians on a
/// drifting baseline with noise and the kicks of valves. Deterministic for a seed.
#include <cstdint>
#include <vector>

#include "trace/emg.hpp"
#include "trace/signal.hpp"

namespace gw::trace {

/// What a switching valve does to the signal: a jump that decays, and a lasting step.
struct SyntheticKick {
    double at_s{};
    double height{};  ///< unit, either sign
    double decay_s{0.3};
    double step{};  ///< unit, stays
};

struct SyntheticDetector {
    std::vector<Emg> peaks;
    std::vector<SyntheticKick> kicks;
    double offset{}, drift_per_s{};         ///< unit, unit/s
    double wander{}, wander_period_s{120};  ///< unit: amplitude of a slow sine
    double white_noise{};                   ///< unit, standard deviation of each sample
    double flicker_noise{};                 ///< unit, standard deviation of 1/f noise over the run
    double low = -1e30, high = 1e30;        ///< clipping levels, unit
};

struct SynthesisOptions {
    double interval_s = 0.02;
    double duration_s = 300;
    std::uint64_t seed = 1;
    std::uint64_t run = 0;  ///< another run of the same seed: other noise
};

Trace synthesise(std::vector<SyntheticDetector> const& detectors, SynthesisOptions const& options);

}  // namespace gw::trace
