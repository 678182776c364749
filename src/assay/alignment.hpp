#pragma once
/// Where the expected peaks went when flow or temperature has changed, so that they keep their
/// names.
#include <optional>
#include <vector>

#include "assay/method.hpp"
#include "trace/peaks.hpp"

namespace gw::assay {

/// All times of a run stretch by one factor when the flow changes, but not from one origin: what
/// goes straight through counts from the injection, what was turned back or held from the valve
/// events that did it. So a peak expected at t comes at A + stretch (t - A), where A is nought, an
/// event, twice an event (turned back), the difference of two events (held between them), or t
/// itself.
struct Alignment {
    double stretch = 1;               ///< 0.9 to 1.11
    std::vector<double> retention_s;  ///< by expected peak, as it should come now
    std::size_t matched{};            ///< expected peaks that stand where this says
    /// Of its window that each expected peak keeps: what drift it allowed for is now accounted for.
    double window_share = 0.6;
};

/// The stretch under which the most expected peaks of one detector stand where they should, in
/// their order. peaks in order of time, expected in order of retention, events in order of time, s.
/// None when the times as stated do as well, when fewer than three peaks or less than six of ten
/// expected ones fit, or when another stretch with several other names does nearly as well: then
/// nothing is renamed.
std::optional<Alignment> align(std::vector<trace::Peak> const& peaks,
                               std::vector<ExpectedPeak> const& expected,
                               std::vector<double> const& events);

}  // namespace gw::assay
