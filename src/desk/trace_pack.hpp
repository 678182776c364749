#pragma once
/// The use-cases behind `gaswright trace pack`: many runs in one file, and out of it again.
#include <optional>
#include <string>
#include <vector>

#include "base/json.hpp"
#include "base/result.hpp"
#include "base/time.hpp"

namespace gw::desk {

struct PackRequest {
    std::string archive;
    std::vector<std::string> runs;  ///< files, and folders of files
    std::optional<double> rate_hz;
    bool append = false;  ///< to an archive that stands; else a new one, which must not stand yet
};

struct Packed {
    std::string archive;
    std::size_t runs{}, added{}, doubles{};  ///< in the archive; now; left out as standing already
    std::uint64_t bytes{}, mended_bytes{};   ///< of the archive; of a cut append, taken off
    std::vector<std::string> not_read;       ///< one sentence each
    std::vector<std::string> warnings;
};

/// A run that cannot be read is left out and named; the rest is packed.
Result<Packed> trace_pack(PackRequest const& request);
Json packed_json(Packed const& packed);
std::string packed_text(Packed const& packed);

struct ArchiveQuery {
    std::string archive;
    std::optional<std::size_t> run;      ///< from 1
    std::optional<std::string> content;  ///< SHA-256 of the file it came from, or its first digits
    std::optional<Instant> from, to;     ///< started at or after, before
};

struct ListedRun {
    std::size_t run{};  ///< from 1
    std::string source, start, content, unit;
    std::map<std::string, std::string> header;
    std::size_t samples{}, detectors{};
    double interval_s{};
    std::uint64_t bytes{};
    std::string problem;  ///< why it cannot be read; empty when it can
};

struct ArchiveListing {
    std::string archive;
    std::size_t runs{};  ///< in the archive; those asked for are listed
    std::uint64_t bytes{}, lost_bytes{};
    std::size_t damaged{};
    bool indexed = true;
    std::vector<ListedRun> list;
    std::vector<std::string> warnings;
};

Result<ArchiveListing> archive_list(ArchiveQuery const& query);
/// Every run asked for read back whole; only the damaged are listed.
Result<ArchiveListing> archive_check(ArchiveQuery const& query);
Json listing_json(ArchiveListing const& listing);
std::string listing_text(ArchiveListing const& listing);

struct Extracted {
    std::vector<std::string> written;
};
/// One run to a file, or several into a folder, as text traces.
Result<Extracted> archive_extract(ArchiveQuery const& query, std::string const& output);
Json extracted_json(Extracted const& extracted);
std::string extracted_text(Extracted const& extracted);

}  // namespace gw::desk
