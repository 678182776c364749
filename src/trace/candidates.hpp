#pragma once
/// Where peaks may stand: tops of the smoothed curvature at every scale from the narrowest peak to
/// the widest, each well out of the noise of its own scale.
#include <span>
#include <vector>

namespace gw::trace {

struct Candidate {
    double t{};             ///< s
    double scale_s{};       ///< scale at which it stands out most: about its standard deviation
    double response{};      ///< unit, signed; about its height when it stands alone
    double significance{};  ///< |response| over the noise of the response at that scale
    bool at_end = false;  ///< its top is at an end of the record or too near it for the common view
    bool rides = false;   ///< told by the logarithm of another peak's tail, which it rides on
};

struct CandidateOptions {
    double narrowest_s = 0.14, widest_s = 7;  ///< scales, standard deviation of a Gaussian
    double significance = 6;  ///< false alarms: at 5.5 two in 2500 noise-only runs, and a sixth of that at 6
    double separation = 7;      ///< dip between two candidates of one scale, in noise
    double noise{};             ///< white noise of y, unit
    double least{};             ///< unit: no response below this is looked at
};

/// In order of time. Both signs. A peak cut by an end of the record counts when its top lies
/// inside, or when the signal rises to the last sample; not when it falls from the first, as after
/// an injection.
std::vector<Candidate> candidates(std::span<double const> y,
                                  double start_s,
                                  double interval_s,
                                  CandidateOptions const& options);

/// Local maxima of sign x r that rise above `least` and are parted from the next by a dip of at
/// least `dip` on both sides: a walk that turns only after `dip`.
std::vector<std::size_t> persistent_tops(std::span<double const> r,
                                         double sign,
                                         double least,
                                         double dip);

}  // namespace gw::trace
