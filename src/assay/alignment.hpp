#pragma once
/// Where the expected peaks went when flow or temperature has changed, so that they keep their
/// names; and how sure each name is.
#include <optional>
#include <vector>

#include "assay/method.hpp"
#include "trace/peaks.hpp"

namespace gw::assay {

struct SureName {
    std::size_t expected{};
    double confidence{};  ///< 0.95 to 1: posterior probability of this name
};

/// All times of a run stretch by one factor when the flow changes, but not from one origin: what
/// goes straight through counts from the injection, what was turned back or held from the valve
/// events that did it. So a peak expected at t comes at A + stretch (t - A), where A is nought, an
/// event, twice an event (turned back), the difference of two events (held between them), or t
/// itself.
struct Alignment {
    bool moved = false;                          ///< surely: probability above 0.99
    double confidence{};                         ///< posterior probability that they have moved
    double stretch = 1;                          ///< 0.9 to 1.11, the likeliest
    std::vector<double> retention_s;             ///< by expected peak, as it should come then
    std::size_t matched{};                       ///< expected peaks that have a sure name
    std::vector<std::optional<SureName>> names;  ///< by peak; none where rivals are near
};

/// The probability of every name, over all stretches and origins, given that peaks keep their
/// order, may be missing and may be more than expected; against the times as stated, and against a
/// run of another kind whose peaks stand anywhere. peaks in order of time, expected in order of
/// retention, events in order of time, s. None when the times as stated hold, when this may be
/// another analyser's run, or when fewer than three peaks or less than six of ten expected ones
/// have a sure name: then nothing is renamed. Not `moved`: they may have, and only names that hold
/// either way are left. Method: the sums over all paths of a pair alignment, forward and backward,
/// as in Durbin, Eddy, Krogh and Mitchison, Biological Sequence Analysis (1998), chapter 4. Time
/// grows with peaks x expected x events squared; above 160 peaks and expected ones together it
/// answers none.
std::optional<Alignment> align(std::vector<trace::Peak> const& peaks,
                               std::vector<ExpectedPeak> const& expected,
                               std::vector<double> const& events);

}  // namespace gw::assay
