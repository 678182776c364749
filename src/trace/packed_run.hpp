#pragma once
/// One run as bytes: what is known about it, and its samples as integers, differenced, their bytes
/// shuffled and compressed (zstd, RFC 8878). Layout: docs/archive.md.
#include <cstdint>
#include <memory>
#include <string>
#include <string_view>

#include "base/result.hpp"
#include "trace/signal.hpp"

namespace gw::trace {

struct PackedRun {
    std::string head, body;
};

/// A larger run is refused: 8 million samples, all detectors together, are 32 MB when read.
inline constexpr std::size_t most_packed_samples = 8'000'000;
inline constexpr std::size_t largest_packed_head = std::size_t{1} << 20U;
inline constexpr std::size_t largest_packed_body = std::size_t{40} << 20U;

Result<PackedRun> packed(Trace const& trace, int level = 3);

/// The head alone: everything but the samples; signals are empty vectors, one per detector.
struct RunHead {
    Trace trace;
    std::size_t samples{};
};
Result<RunHead> packed_head(std::string_view head, std::string const& where);

/// Reads runs one after the other in the same memory.
class Unpacker {
  public:
    Unpacker();
    ~Unpacker();
    Unpacker(Unpacker&&) noexcept;
    Unpacker& operator=(Unpacker&&) noexcept;
    Unpacker(Unpacker const&) = delete;
    Unpacker& operator=(Unpacker const&) = delete;

    /// where: for messages. Refuses what does not hold together, and allocates no more than the
    /// samples that the limits above allow.
    Result<Trace> unpacked(std::string_view head, std::string_view body, std::string const& where);

  private:
    struct State;
    std::unique_ptr<State> state_;
};

}  // namespace gw::trace
