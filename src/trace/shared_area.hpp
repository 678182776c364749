#pragma once
/// What the fitted shapes of a cluster carry across the borders between its peaks.
#include "trace/cluster_fit.hpp"

namespace gw::trace {

/// Of what a fit leaves over at its worst, times the peak's width, the part that counts as the
/// standard uncertainty of what its shape carries across a border. Chosen so that peaks of two
/// other forms are covered (docs/peaks.md); common practice, no source.
inline constexpr double shape_doubt = 0.4;

/// Whether a shape describes its peak well enough to say what lies beyond a border.
inline bool trusted(ClusterFit const& fit, std::size_t peak) { return fit.departure[peak] < 0.06; }

/// What a peak gains of its own beyond its borders less what its neighbours' shapes have within
/// them, and the standard uncertainty of that because real peaks are not exactly of this form; unit
/// x s. The outer borders of a cluster are none of its shapes'.
struct Carried {
    double area{}, u{};
};
Carried carried(ClusterFit const& fit, std::size_t peak, double left_s, double right_s);

}  // namespace gw::trace
