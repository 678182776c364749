#pragma once
/// Invented traces with known truth, for tests and the demo: exponentially modified Gaussians on a
/// drifting baseline with noise and the kicks of valves. Deterministic for a seed.
#include <cstdint>
#include <vector>

#include "trace/emg.hpp"
#include "trace/signal.hpp"

namespace gw::trace {

enum class KickForm : std::uint8_t {
    decay,    ///< a jump, rounded by a first-order lag of rise_s, that decays
    spike,    ///< a Gaussian of standard deviation decay_s
    bipolar,  ///< up and down: the derivative of that Gaussian, extremes of +-height
};

/// What a switching valve does to the signal, and a lasting step.
struct SyntheticKick {
    double at_s{};
    double height{};  ///< unit, either sign
    double decay_s{0.3};
    double step{};    ///< unit, stays
    double rise_s{};  ///< 0: at once
    KickForm form = KickForm::decay;
};

double kick_signal(SyntheticKick const& kick, double t);

/// A band carried through an open column by flow and dispersion: the first-passage density of
/// mean `retention_s` and variance retention^2 / plates (the inverse Gaussian distribution).
struct PassagePeak {
    double area{}, retention_s{1}, plates{1000};
};

double passage_signal(PassagePeak const& peak, double t);

struct SyntheticDetector {
    std::vector<Emg> peaks;
    std::vector<PassagePeak> passages;
    std::vector<SyntheticKick> kicks;
    double offset{}, drift_per_s{};         ///< unit, unit/s
    double wander{}, wander_period_s{120};  ///< unit: amplitude of a slow sine
    double white_noise{};                   ///< unit, standard deviation of each sample
    double flicker_noise{};                 ///< unit, standard deviation of 1/f noise over the run
    double low = -1e30, high = 1e30;        ///< clipping levels, unit
    double quantum{};  ///< unit: step of the converter or of the printed digits; 0 none
};

struct SynthesisOptions {
    double interval_s = 0.02;
    double duration_s = 300;
    std::uint64_t seed = 1;
    std::uint64_t run = 0;  ///< another run of the same seed: other noise
};

Trace synthesise(std::vector<SyntheticDetector> const& detectors, SynthesisOptions const& options);

}  // namespace gw::trace
