#pragma once
/// From the times as printed to a uniform grid.
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "trace/signal.hpp"

namespace gw::trace {

/// What was read of a trace before it lies on a grid.
struct SampledRows {
    std::vector<double> time_s;               ///< s, strictly increasing, one per row
    std::vector<std::vector<float>> signals;  ///< one per detector, one value per row
    double time_step_printed{};  ///< s, one unit of the last decimal of the printed times
    std::optional<double>
        interval_stated;  ///< s, from the header; taken when the times agree with it
};

struct GridOptions {
    double gap_steps = 1.5;  ///< a longer step, in intervals, is a gap
    double jitter = 0.25;    ///< departures up to this share of an interval count as on the grid
    double shortest_interval_s = 1e-6;
    double longest_interval_s = 3600;
    double latest_time_s = 1e10;  ///< beyond it a double no longer tells samples apart
    std::size_t most_samples = 50'000'000;
    std::size_t most_growth = 20;  ///< filled samples over rows: beyond it the file is mostly holes
};

/// Puts the rows on a uniform grid.
///
/// Interval: the mean of the steps that are no gaps, refined by a least-squares line of time
/// against row number with one slope and an offset for each stretch between gaps, then replaced by
/// the stated interval, a whole rate (per second, per minute) or a short decimal when that keeps
/// every stretch within one printed step, so that printed rounding (0.033, 0.067, 0.100) does not
/// add up. Gaps: steps longer than gap_steps intervals (and by more than the printed rounding);
/// filled by a straight line, listed, with a warning. Jitter: rows within `jitter` of an interval
/// from their grid point are taken as the grid point; when any row is farther off, all samples are
/// read off the straight lines between rows, with a warning. Fails with bad_input when the interval
/// is out of range, or the gaps outgrow the rows.
Result<> put_on_grid(SampledRows const& rows, Trace& trace, GridOptions const& options = {});

/// The value at share w of the straight line from a to b: what a gap holds.
float between(float a, float b, double w);

}  // namespace gw::trace
