#include "trace/follow.hpp"

namespace gw::trace {

struct PeakFollower::State {};

PeakFollower::PeakFollower() : state_(std::make_unique<State>()) {}
PeakFollower::~PeakFollower() = default;
PeakFollower::PeakFollower(PeakFollower&&) noexcept = default;
PeakFollower& PeakFollower::operator=(PeakFollower&&) noexcept = default;

DetectorPeaks PeakFollower::find(Trace const& trace, int detector, PeakOptions const& options) {
    ++careful_;
    return find_peaks(trace, detector, options);
}

}  // namespace gw::trace
