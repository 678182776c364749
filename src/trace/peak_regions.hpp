#pragma once
/// Which samples belong to which peak and which to the background, settled together: the background
/// needs to know where peaks are, and a peak's ends are where it meets the background.
#include "trace/survey.hpp"

namespace gw::trace {

/// Finds peaks, background and bounds, then the shape of each peak.
Regions settle_regions(Survey const& survey);

/// The same on a background that is known: r.above and r.rms are given. survey.y: the same as
/// r.above.
void settle_peaks(Survey const& survey, Regions& r);

/// Tells the spectrum of the noise where nothing stands and lays the background anew, as stiff as
/// makes the areas surest under that noise. Bounds and shapes follow it.
void settle_ground(Survey const& survey, Regions& regions);

}  // namespace gw::trace
