#pragma once
/// Peaks of a trace: where they start, stand and end, their areas above the baseline, and how sure
/// that is.
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "trace/signal.hpp"

namespace gw::trace {

/// How the area under a peak was separated from its neighbours and from the baseline.
enum class Baseline : std::uint8_t {
    straight,  ///< alone between two stretches of baseline
    valley,    ///< from valley to valley (the valley touches the baseline)
    drop,      ///< perpendicular drop at the valley
    skim,      ///< a rider on a tail, taken off along the tangent
    fitted,    ///< the cluster's fitted shapes share the signal out
};

std::string_view name(Baseline baseline);

struct PeakFlags {
    bool cut = false, merged = false, shoulder = false, saturated = false, negative = false,
         gap = false, unexpected = false, fitted = false, rider = false;
    [[nodiscard]] std::vector<std::string> names() const;
};

/// A peak that a valve, or an end of the record, cuts.
struct Cut {
    bool front = false;  ///< what came before at_s is lost; else what came after it
    double at_s{};       ///< of the event, or the record's end
    /// Of the whole peak, what is probably lost: by a modified Gaussian through what is left; and
    /// its standard uncertainty, percent. None where what is left does not tell.
    std::optional<double> lost_percent, u_percent;
};

struct Peak {
    double start_s{}, apex_s{}, end_s{};
    double area{}, area_u{};  ///< unit x s, above the baseline; u: standard uncertainty
    double height{};          ///< unit, above the baseline at the apex; negative for a dip
    double width_half_s{};    ///< full width at half height
    double asymmetry{1};      ///< back over front half width at 10 % of the height
    /// Tailing factor: width at 5 % of the height over twice the front half width there (the
    /// symmetry factor of the pharmacopoeias); none where a flank does not come down to 5 %.
    std::optional<double> tailing;
    std::optional<Cut> cut;
    std::optional<double> resolution_next;  ///< 1.18 (t2 - t1)/(wh1 + wh2); none for the last peak
    Baseline baseline = Baseline::straight;
    PeakFlags flags;
    int detector = 1;
};

struct Noise {
    double rms{};          ///< unit, standard deviation of the fast noise, peaks excluded
    double drift_per_s{};  ///< unit/s, slope of the baseline over the run
};

/// A valve event: it may leave a kick or a step in the signal, which is no peak.
struct SignalEvent {
    double at_s{};
    std::string action;
};

struct PeakOptions {
    std::vector<SignalEvent> events;      ///< known valve events; others are found by their shape
    double signal_to_noise = 4;           ///< height over rms noise below which nothing is reported
    double narrowest_half_width_s = 0.4;  ///< narrower bumps are kicks
    double widest_half_width_s = 20;      ///< wider humps are baseline
    std::optional<double> range_low, range_high;  ///< clipping levels of the detector, unit
};

/// What a valve or a disturbance left in the level of the baseline.
struct BaselineStep {
    double at_s{};
    double step{}, step_u{};  ///< unit: level after less level before; standard uncertainty
    double height{};          ///< unit, signed: the largest departure of the kick itself
    bool known{};             ///< at an event of the method
    int detector = 1;
};

struct DetectorPeaks {
    std::vector<Peak> peaks;  ///< in order of apex
    Noise noise;
    std::vector<float> baseline;      ///< unit, one per sample
    std::vector<SignalEvent> kicks;   ///< events found in the signal, for drawing
    std::vector<BaselineStep> steps;  ///< one for each of them
    std::vector<std::string> warnings;
};

/// Deterministic: the same samples give the same answer. detector counts from 1.
DetectorPeaks find_peaks(Trace const& trace, int detector, PeakOptions const& options = {});

}  // namespace gw::trace
