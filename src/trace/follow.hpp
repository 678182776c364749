#pragma once
/// The peaks of very many runs of one analyser: what the careful search settled for one run is
/// held against the next, and only measured anew where everything is as expected. Whatever is not
/// goes back to the careful search. See docs/peaks.md.
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "trace/peaks.hpp"

namespace gw::trace {

/// Follows one analyser from run to run. The answer depends on the runs it was shown before, in
/// their order, and on nothing else.
class PeakFollower {
  public:
    PeakFollower();
    ~PeakFollower();
    PeakFollower(PeakFollower&&) noexcept;
    PeakFollower& operator=(PeakFollower&&) noexcept;
    PeakFollower(PeakFollower const&) = delete;
    PeakFollower& operator=(PeakFollower const&) = delete;

    /// As find_peaks; without the drawn baseline where the run could be followed.
    DetectorPeaks find(Trace const& trace, int detector, PeakOptions const& options);

    /// How many answers were followed, and how many came of the careful search.
    [[nodiscard]] std::size_t followed() const { return followed_; }
    [[nodiscard]] std::size_t careful() const { return careful_; }
    /// Why the last run was not followed; empty when it was.
    [[nodiscard]] std::string const& reason() const { return reason_; }

  private:
    struct State;
    std::unique_ptr<State> state_;
    std::size_t followed_{}, careful_{};
    std::string reason_;
};

}  // namespace gw::trace
