#pragma once
/// The plain zip container (PKWARE's APPNOTE 6.3, without its extensions), read as if a stranger
/// had made it. Written in one form only: members in the order given, deflate or stored, no times,
/// no extra fields; the comment at the end holds the SHA-256 of all bytes before it, so that no
/// byte of the container itself changes unseen.
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.hpp"

namespace gw {

struct ZipMember {
    std::string name;  ///< "runs/a.csv": letters, digits and -_.+/ only, no ".." and no root
    std::string bytes;
};

/// Fails with bad_input for a name that read_zip would refuse, or one given twice.
Result<std::string> zip_archive(std::vector<ZipMember> const& members);

struct ZipLimits {
    std::size_t members = 20000;
    std::uint64_t total_bytes = std::uint64_t{1} << 30U;  ///< of all members, unpacked
};

struct ZipRead {
    std::vector<ZipMember> members;  ///< in the order of the directory
    /// Members whose packed bytes do not give what the directory promises, and how. Their bytes
    /// are empty.
    struct Damage {
        std::string name, what;
    };
    std::vector<Damage> damaged;
    /// What zip_archive would not have written so: a changed header, bytes between members, a
    /// checksum that does not fit. Empty for the bytes that it wrote.
    std::string oddity;
    [[nodiscard]] ZipMember const* find(std::string_view name) const;
};

/// Refuses before anything is unpacked: no zip, cut off, encrypted, split, larger than a zip may
/// be without extensions, too many members, too many bytes unpacked, a name that leaves its folder
/// or comes twice (also in another case), a link or device, members that overlap. Takes what other
/// packers write beside that, and tells of it as an oddity. Never unpacks more than promised.
Result<ZipRead> read_zip(std::string_view bytes,
                         std::string const& source,
                         ZipLimits const& limits = {});

/// Empty when a member may be called so; else why not.
std::string zip_name_fault(std::string_view name);

}  // namespace gw
