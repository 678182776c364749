#pragma once
/// A kick on a peak's flank or top cannot be told from the peak by a smooth curve around its onset;
/// it can by the peak's own shape.
#include <vector>

#include "trace/survey.hpp"

namespace gw::trace {

/// Fits every kick that lies among peaks once more, together with the shapes of those peaks, and
/// every known event among peaks at which none was seen. Changes `y` (the signal without its kicks)
/// and `disturbances`; tells whether anything moved.
bool settle_kicks_under_peaks(Survey const& survey,
                              Regions const& regions,
                              std::vector<double>& y,
                              std::vector<Disturbance>& disturbances);

/// A step told on a peak's flank, or from a short stretch, takes what the curve around it left
/// over. Where the background on both sides says that nothing stayed, the step is put back into
/// `y`. Tells whether anything moved.
bool settle_steps(Survey const& survey,
                  Regions const& regions,
                  std::vector<double>& y,
                  std::vector<Disturbance>& disturbances);

/// Steps at known events that only the background on both sides of a peak told: taken off `y` like
/// the others. Tells whether there were any.
bool take_steps_under_peaks(Survey const& survey,
                            Regions const& regions,
                            std::vector<double>& y,
                            std::vector<Disturbance>& disturbances);

}  // namespace gw::trace
