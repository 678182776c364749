#pragma once
/// The frame of an archive: what its reader and its writer must agree on. See docs/archive.md.
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "base/bytes.hpp"
#include "base/hash.hpp"
#include "trace/archive.hpp"

namespace gw::trace::layout {

inline constexpr std::string_view file_mark = "gwtraces";  ///< then version and three words of zero
inline constexpr std::string_view index_mark = "gwindex\n";  ///< then the offset of the index block
inline constexpr std::uint32_t version = 1;
inline constexpr std::uint32_t run_block = 0x314E5552;    ///< "RUN1"
inline constexpr std::uint32_t index_block = 0x31584449;  ///< "IDX1"
inline constexpr std::size_t file_head = 24, block_head = 48, trailer = 16, entry_bytes = 64;
inline constexpr std::size_t runs_per_index = 1024;  ///< at most so many are walked after a cut

struct BlockHead {
    std::uint32_t kind{}, head{};
    std::uint64_t body{};
    std::string_view checksum;  ///< SHA-256 of kind, sizes, head and body; 32 raw bytes
};

inline std::string raw_sha256(std::string_view bytes) {
    auto const hex = sha256(bytes);
    std::string out;
    auto const digit = [](char c) { return c <= '9' ? c - '0' : c - 'a' + 10; };
    for (std::size_t i = 0; i + 1 < hex.size(); i += 2)
        out.push_back(static_cast<char>(16 * digit(hex[i]) + digit(hex[i + 1])));
    return out;
}

inline BlockHead block_head_of(std::string_view bytes) {
    ByteReader in(bytes);
    BlockHead out;
    out.kind = in.get<std::uint32_t>();
    out.head = in.get<std::uint32_t>();
    out.body = in.get<std::uint64_t>();
    out.checksum = in.raw(32);
    return out;
}

inline bool possible(BlockHead const& b) {
    return (b.kind == run_block && b.head <= largest_packed_head &&
            b.body <= largest_packed_body) ||
           (b.kind == index_block && b.head == 8 && b.body % entry_bytes == 0 &&
            b.body <= runs_per_index * entry_bytes);
}

/// The whole block: its head, with the checksum, and both parts.
inline std::string block_bytes(std::uint32_t kind, std::string_view head, std::string_view body) {
    ByteWriter out;
    out.put(kind);
    out.put(static_cast<std::uint32_t>(head.size()));
    out.put(static_cast<std::uint64_t>(body.size()));
    std::string const sizes = out.bytes();
    std::string summed = sizes;
    summed.append(head).append(body);
    return sizes + raw_sha256(summed) + std::string(head) + std::string(body);
}

/// bytes: of one whole block.
inline bool checksum_holds(std::string_view bytes) {
    std::string summed(bytes.substr(0, 16));
    summed.append(bytes.substr(block_head));
    return bytes.substr(16, 32) == raw_sha256(summed);
}

inline void put_entry(ByteWriter& out, ArchiveEntry const& e) {
    out.put(e.offset), out.put(e.size);
    out.put(static_cast<std::uint64_t>(e.started_ms ? 1 : 0));
    out.put(static_cast<std::uint64_t>(e.started_ms.value_or(0)));
    out.raw(e.content);
}

inline ArchiveEntry entry_of(ByteReader& in) {
    ArchiveEntry e;
    e.offset = in.get<std::uint64_t>(), e.size = in.get<std::uint64_t>();
    bool const stated = in.get<std::uint64_t>() != 0;
    auto const ms = static_cast<std::int64_t>(in.get<std::uint64_t>());
    if (stated) e.started_ms = ms;
    e.content = in.raw(32);
    return e;
}

/// What a run is known by: the checksum of the file it came from, else of its own bytes.
inline std::string content_of(Trace const& trace, std::string_view body) {
    std::string const hex = trace.hash;
    bool const whole =
        hex.size() == 64 && hex.find_first_not_of("0123456789abcdef") == std::string::npos;
    if (!whole) return raw_sha256(body);
    std::string out;
    auto const digit = [](char c) { return c <= '9' ? c - '0' : c - 'a' + 10; };
    for (std::size_t i = 0; i < 64; i += 2)
        out.push_back(static_cast<char>(16 * digit(hex[i]) + digit(hex[i + 1])));
    return out;
}

inline ArchiveEntry entry_for(Trace const& trace,
                              std::string_view body,
                              std::uint64_t offset,
                              std::uint64_t size) {
    ArchiveEntry e{offset, size, std::nullopt, content_of(trace, body)};
    if (trace.start) e.started_ms = trace.start->milliseconds;
    return e;
}

}  // namespace gw::trace::layout
