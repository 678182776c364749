#pragma once
/// Many runs in one file: each with its checksum, found by place, time or content; runs are added
/// at the end without touching what stands. Layout: docs/archive.md.
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "trace/packed_run.hpp"

namespace gw::trace {

/// Where the bytes of an archive come from: a file, or memory in a test. `read` fills the whole
/// span or fails; it may be called from several threads at once.
struct ArchiveBytes {
    std::uint64_t size{};
    std::function<Result<>(std::uint64_t offset, std::span<char> into)> read;
    std::string source;  ///< for messages
};
ArchiveBytes bytes_in_memory(std::string_view bytes, std::string source);
Result<ArchiveBytes> bytes_of_file(std::string const& path);

struct ArchiveEntry {
    std::uint64_t offset{}, size{};          ///< of its block, in bytes
    std::optional<std::int64_t> started_ms;  ///< since 1970, UTC
    std::string content;                     ///< SHA-256 of what it was read from; 32 raw bytes
};

/// An open archive. Constant once open: any number of threads may read from it, each with its own
/// Unpacker.
class Archive {
  public:
    /// Takes the index from the end of the file. Where that does not hold (an append was cut off),
    /// walks the blocks from the start and keeps every whole one.
    static Result<Archive> open(ArchiveBytes bytes);

    [[nodiscard]] std::vector<ArchiveEntry> const& entries() const { return entries_; }
    [[nodiscard]] std::size_t size() const { return entries_.size(); }
    [[nodiscard]] std::string const& source() const { return bytes_.source; }
    /// Bytes at the end that belong to no whole block: what a cut append left.
    [[nodiscard]] std::uint64_t lost_bytes() const { return bytes_.size - whole_; }
    [[nodiscard]] bool indexed() const { return indexed_; }
    /// Up to where the file is whole; its last index block, 0 when there is none.
    [[nodiscard]] std::uint64_t whole_bytes() const { return whole_; }
    [[nodiscard]] std::uint64_t last_index() const { return last_index_; }
    /// SHA-256 of the index: changes whenever a run does.
    [[nodiscard]] std::string fingerprint() const;

    /// Its name in messages: "year.gwa:run 17", counted from 1.
    [[nodiscard]] std::string name_of(std::size_t run) const;
    /// The run, its checksum held. `run` counts from 0.
    Result<Trace> read(std::size_t run, Unpacker& unpacker) const;
    [[nodiscard]] Result<RunHead> head(std::size_t run) const;
    /// Whether the bytes of the run are those that were written.
    [[nodiscard]] Result<> check(std::size_t run) const;

  private:
    [[nodiscard]] Result<PackedRun> block(std::size_t run, bool checked) const;
    bool take_index();
    void walk();

    ArchiveBytes bytes_;
    std::vector<ArchiveEntry> entries_;
    std::uint64_t whole_{}, last_index_{};
    bool indexed_ = false;
};

/// True when the first bytes are those of an archive.
bool looks_like_archive(std::string_view bytes);

/// Adds runs to a file. One writer at a time holds it; a second is refused as busy.
class ArchiveWriter {
  public:
    /// A new archive beside `path`; it takes that name when finished.
    static Result<ArchiveWriter> create(std::string const& path);
    /// The end of an archive that stands; what a cut append left is taken off first.
    static Result<ArchiveWriter> append(std::string const& path);
    ~ArchiveWriter();
    ArchiveWriter(ArchiveWriter&&) noexcept;
    ArchiveWriter& operator=(ArchiveWriter&&) noexcept;
    ArchiveWriter(ArchiveWriter const&) = delete;
    ArchiveWriter& operator=(ArchiveWriter const&) = delete;

    /// False: a run with the same content stands already, and was not added again.
    Result<bool> add(Trace const& trace);
    /// Writes the index of what was added and brings everything to the disk.
    Result<> finish();
    [[nodiscard]] std::size_t runs() const;
    [[nodiscard]] std::uint64_t mended_bytes() const;  ///< taken off the end before appending

  private:
    struct State;
    explicit ArchiveWriter(std::unique_ptr<State> state);
    std::unique_ptr<State> state_;
};

}  // namespace gw::trace
