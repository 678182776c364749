#pragma once
/// Fewer points for drawing, without losing a peak.
#include <cstddef>
#include <span>
#include <vector>

namespace gw::trace {

/// Indices, rising, of at most `most` samples (four at least): the first, the last, and the lowest
/// and highest of each of equal stretches between. Every sample when there are no more than `most`.
/// A line through them covers the same pixels as a line through all, as long as a stretch is no
/// wider than a pixel. One pass.
std::vector<std::size_t> thinned(std::span<float const> signal, std::size_t most);
std::vector<std::size_t> thinned(std::span<double const> signal, std::size_t most);

}  // namespace gw::trace
