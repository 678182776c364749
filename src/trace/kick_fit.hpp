#pragma once
/// The shape of a valve's kick: a jump that decays, rounded where the detector's own lag rounds it,
/// with or without a step that stays, on a smooth curve. Fitted by linear least squares for given
/// time constants; the time constants are searched.
#include <cstddef>
#include <limits>
#include <span>

#include "trace/emg.hpp"

namespace gw::trace {

struct KickShape {
    double decay{}, lag{};                                ///< samples; lag 0: a jump
    double amplitude{}, lag_amplitude{};                  ///< unit, of the two exponentials
    double step{};                                        ///< unit, stays
    [[nodiscard]] double at(double samples_after) const;  ///< without the step
};

struct KickFit {
    KickShape shape;
    double chi;       ///< residual variance over noise variance
    double step_u{};  ///< standard uncertainty of the step, unit
};

/// Samples [from, to) without [at, at + skip), in which a spike hides or the onset is rounded.
struct KickWindow {
    std::size_t from{}, at{}, to{}, skip{};
};

/// Polynomial of `degree` with no kick at all: tells whether both sides lie on one curve.
double smooth_chi(std::span<double const> y, KickWindow const& window, int degree, double noise);

/// The plainest kick that describes the signal around `at`, an onset, between samples `low` and
/// `high`. jump: size of what the signal was seen to do at once there; what the fit makes of it is
/// of that size, or it describes something else.
KickFit best_kick(std::span<double const> y,
                  std::size_t at,
                  std::size_t low,
                  std::size_t high,
                  double dt,
                  double noise,
                  double jump = std::numeric_limits<double>::infinity());

/// What a valve does shows within a fifth of a second, and fades within seconds. A slow exponential
/// and a step that cancel until then are a part of the curve beneath.
bool comes_at_once(KickShape const& kick, double interval_s, double noise);

/// A kick at a known time, however weak: on the longest stretch that a smooth curve and a kick
/// describe, and only where the same curve without a kick does not. chi is infinite when there is
/// none.
KickFit known_kick(std::span<double const> y,
                   std::size_t at,
                   std::size_t low,
                   std::size_t high,
                   double dt,
                   double noise);

/// The kick fitted anew on as long a stretch on both sides of `at` as a smooth curve describes,
/// never beyond samples `low` and `high`. `first` was taken off y already and is put back for it,
/// its step excepted: the step of the answer is what still remains, and zero where it does not
/// stand out. chi is infinite when nothing describes it.
KickFit refined_kick(std::span<double const> y,
                     std::size_t at,
                     std::size_t low,
                     std::size_t high,
                     KickShape const& first,
                     double dt,
                     double noise,
                     double jump = std::numeric_limits<double>::infinity());

/// A kick with a step, on a straight line, in just this window.
KickFit kick_in(std::span<double const> y, KickWindow const& window, double dt, double noise);

/// The best peak no narrower than least_sigma, on a straight line, in just this window: its
/// residual variance over noise variance. start: in samples from window.from.
double peak_chi(std::span<double const> y,
                KickWindow const& window,
                Emg start,
                double least_sigma,
                double noise);

/// A cubic through the flanks in place of samples [from, to), so that a peak beneath keeps its
/// curve.
void bridge(std::span<double> y, std::size_t from, std::size_t to, std::size_t flank);

}  // namespace gw::trace
