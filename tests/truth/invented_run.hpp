#pragma once
/// Runs of known truth for judging the peak finder from outside: shapes, noises and random numbers
/// of their own, nothing shared with src/trace but the trace itself. Areas are the closed forms'
/// own parameters.
#include <cstdint>
#include <functional>
#include <random>
#include <string>
#include <vector>

#include "trace/peaks.hpp"

namespace gw::truth {

enum class Form : std::uint8_t {
    modified,  ///< a Gaussian convolved with an exponential
    tanks,     ///< a gamma density: equal stirred tanks in series
    passage,   ///< an inverse Gaussian: flow and dispersion in an open column
};

/// What one family of runs looks like. Noise is told by its corners: the frequency at which its
/// power equals that of the white noise.
struct Family {
    std::string name;
    double rate_hz = 50;
    double flicker_corner_hz = 0;  ///< power falling with frequency
    double walk_corner_hz = 0;     ///< with its square
    double wander = 0;             ///< amplitude of a slow sine, in white noises
    double grain = 0;              ///< converter's step, in white noises
    Form form = Form::modified;
    double closest = 4;    ///< between neighbours, in half widths
    double widest_s = 15;  ///< half widths go from 0.4 s to this in one run
    double least_height = 8, largest_height = 1e5;  ///< in white noises
    double largest_ratio = 1e9;                     ///< of heights of neighbours
};

struct Truth {
    double apex_s{}, height{}, width_half_s{}, area{};
    double resolution = 1e9;  ///< to the nearer neighbour
};

struct Run {
    trace::Trace trace;
    std::vector<Truth> peaks;
    double white{};
};

Run invented_run(Family const& family, std::uint64_t number);

/// How the answers to many runs of a family compare with the truth.
struct Tally {
    int expected = 0, missed = 0, invented = 0;
    struct Seen {
        double error{}, u{};  ///< of the area
        Truth truth;
        double over_noise{};  ///< height over the white noise
        trace::Peak got;
    };
    std::vector<Seen> seen;
    /// Share of peaks whose error is below 1.96 u, of those that `which` takes.
    [[nodiscard]] double covered(std::function<bool(Seen const&)> const& which) const;
    [[nodiscard]] std::size_t count(std::function<bool(Seen const&)> const& which) const;
    /// Quantile of |error| over the area.
    [[nodiscard]] double error(double share, std::function<bool(Seen const&)> const& which) const;
};

void add(Tally& tally, Run const& run, trace::DetectorPeaks const& got);
Tally tally_of(Family const& family, std::uint64_t first, int runs);

/// All families that docs/peaks.md states figures for.
std::vector<Family> families();

}  // namespace gw::truth
