#pragma once
/// Which candidates are peaks, once the background under them is known.
#include "trace/survey.hpp"

namespace gw::trace {

/// found: in order of time. strict: the background is settled, so a candidate may be refused for
/// its height; before that only doubles are. Answers in order of time, without bounds.
std::vector<Region> chosen_peaks(Survey const& survey,
                                 Regions const& so_far,
                                 std::span<Candidate const> found,
                                 bool strict);

/// Tops of their own on the flanks and tails of the peaks so far, where the bend of the big peak
/// drowns the small one's curvature. Adds those that are not near a candidate already; keeps the
/// order.
void add_tops_on_flanks(Survey const& survey, Regions const& so_far, std::vector<Candidate>& found);

}  // namespace gw::trace
