#pragma once
/// What a careful search settled on its way to the peaks, for those who go on from there.
#include "trace/peak_areas.hpp"
#include "trace/survey.hpp"

namespace gw::trace {

struct Settled {
    double fast{};   ///< standard deviation of the fast noise; 0: nothing to go on from
    double grain{};  ///< step of the signal where noise does not blur it, else 0
    std::vector<Disturbance> disturbances;
    Regions regions;
    std::vector<SharedShape> shapes;  ///< one per peak
};

/// As find_peaks; settled, where given, is left empty for a detector connected upside down.
DetectorPeaks find_peaks(Trace const& trace,
                         int detector,
                         PeakOptions const& options,
                         Settled* settled);

}  // namespace gw::trace
