#pragma once
/// A peak between ends that a person chose, over a straight baseline whose ends that person chose:
/// what `find_peaks` would have said had it been told where to look.
#include <optional>

#include "base/result.hpp"
#include "trace/peaks.hpp"

namespace gw::trace {

struct HandEnds {
    double start_s{}, end_s{};
    /// Level of the baseline at either end, unit. None: where the background of `find_peaks` is.
    std::optional<double> base_start, base_end;
};

struct HandPeak {
    Peak peak;                        ///< baseline straight; no flags but `negative`
    double base_start{}, base_end{};  ///< unit, as used
};

/// Area between the signal, taken straight from sample to sample, and the straight baseline (the
/// trapezoidal rule, ends between samples allowed: error falls with the square of the interval).
/// area_u: the noise of the samples and of both ends of the baseline, which a hand does not place
/// better than the noise (common practice, no source). What stands under the baseline is counted
/// as negative. found: of the same detector of this trace, for noise and background.
/// Fails with out_of_range: ends outside the trace, fewer than four samples between them, levels
/// beyond all of the signal by more than its own range; not_found: no such detector.
Result<HandPeak> hand_peak(Trace const& trace,
                           int detector,
                           HandEnds const& ends,
                           DetectorPeaks const& found);

}  // namespace gw::trace
