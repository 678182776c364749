#pragma once
/// Sudden onsets in a signal: places where it leaves the line it was on faster than a peak can.
#include <span>
#include <vector>

#include "trace/peaks.hpp"

namespace gw::trace {

struct Onset {
    std::size_t at{};  ///< first disturbed sample
    double jump{};     ///< unit: mean of the next samples less the line through the ones before
    bool known{};      ///< near an event of the method
};

/// In order of time. noise: standard deviation of y.
std::vector<Onset> onsets(std::span<double const> y,
                          double start_s,
                          double dt,
                          double noise,
                          std::span<SignalEvent const> events);

/// Noise can hide a jump by a sample or two: steps back while a sample already stands off the line
/// through the m before it, on the side of the jump.
std::size_t first_disturbed(std::span<double const> y,
                            Onset const& onset,
                            std::size_t m,
                            double noise);

}  // namespace gw::trace
