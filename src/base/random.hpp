#pragma once
/// Counter-based random numbers: the n-th number of a stream depends on (seed, stream, n) alone, so
/// that draws are the same in any order and on any number of threads.
#include <array>
#include <cstdint>

namespace gw {

/// Philox 4x32 with 10 rounds. Source: Salmon, Moraes, Dror, Shaw, "Parallel random numbers: as
/// easy as 1, 2, 3", SC 2011, section 3.3 and table 2.
std::array<std::uint32_t, 4> philox(std::array<std::uint32_t, 4> counter,
                                    std::array<std::uint32_t, 2> key);

class RandomStream {
  public:
    RandomStream(std::uint64_t seed, std::uint64_t stream) : seed_(seed), stream_(stream) {}
    double uniform();  ///< in (0, 1), 53 bits, never an end point
    double normal();   ///< mean 0, standard deviation 1 (Box-Muller, both values used)

  private:
    std::uint64_t seed_, stream_, draws_ = 0;
    std::array<std::uint32_t, 4> block_{};
    unsigned left_ = 0;
    double spare_ = 0.0;
    bool has_spare_ = false;
};

}  // namespace gw
