#include "trace/archive.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>

#include "trace/archive_layout.hpp"

namespace gw::trace {

namespace {

using namespace layout;

struct OpenFile {
    int fd = -1;
    explicit OpenFile(int file) : fd(file) {}
    OpenFile(OpenFile const&) = delete;
    OpenFile& operator=(OpenFile const&) = delete;
    ~OpenFile() {
        if (fd >= 0) ::close(fd);
    }
};

std::string reason() { return std::strerror(errno); }  // NOLINT(concurrency-mt-unsafe)

Result<std::string> bytes_at(ArchiveBytes const& bytes, std::uint64_t offset, std::uint64_t size) {
    if (size > bytes.size || offset > bytes.size - size)
        return fail(Errc::bad_input, "The archive is cut short.", bytes.source);
    std::string out(static_cast<std::size_t>(size), '\0');
    GW_CHECK(bytes.read(offset, out));
    return out;
}

// The block at an offset, if one can stand there and ends within the file.
std::optional<BlockHead> block_at(ArchiveBytes const& bytes,
                                  std::uint64_t offset,
                                  std::array<char, block_head>& room) {
    if (offset > bytes.size || bytes.size - offset < block_head) return std::nullopt;
    if (!bytes.read(offset, room)) return std::nullopt;
    auto const head = block_head_of({room.data(), room.size()});
    if (!possible(head) || head.head + head.body > bytes.size - offset - block_head)
        return std::nullopt;
    return head;
}

}  // namespace

ArchiveBytes bytes_in_memory(std::string_view bytes, std::string source) {
    return {bytes.size(),
            [bytes](std::uint64_t offset, std::span<char> into) -> Result<> {
                if (into.size() > bytes.size() || offset > bytes.size() - into.size())
                    return fail(Errc::bad_input, "The archive is cut short.");
                std::copy_n(bytes.data() + offset, into.size(), into.data());
                return {};
            },
            std::move(source)};
}

Result<ArchiveBytes> bytes_of_file(std::string const& path) {
    auto const file = std::make_shared<OpenFile>(::open(path.c_str(), O_RDONLY | O_CLOEXEC));
    struct stat status {};
    if (file->fd < 0 || ::fstat(file->fd, &status) != 0)
        return fail(Errc::io,
                    fmt::format("The archive cannot be opened ({}).", reason()),
                    path,
                    "check the path and the right to read it");
    if (!S_ISREG(status.st_mode))
        return fail(
            Errc::bad_input, "An archive must be a file of its own.", path, "name the file");
    return ArchiveBytes{
        static_cast<std::uint64_t>(status.st_size),
        [file, path](std::uint64_t offset, std::span<char> into) -> Result<> {
            while (!into.empty()) {
                auto const got =
                    ::pread(file->fd, into.data(), into.size(), static_cast<off_t>(offset));
                if (got < 0 && errno == EINTR) continue;
                if (got <= 0)
                    return fail(Errc::io,
                                got == 0
                                    ? std::string("The archive became shorter while it was read.")
                                    : fmt::format("Reading failed ({}).", reason()),
                                path,
                                "check the disk or the connection");
                offset += static_cast<std::uint64_t>(got);
                into = into.subspan(static_cast<std::size_t>(got));
            }
            return {};
        },
        path};
}

bool looks_like_archive(std::string_view bytes) { return bytes.substr(0, 8) == file_mark; }

Result<Archive> Archive::open(ArchiveBytes bytes) {
    auto const head = bytes_at(bytes, 0, file_head);
    if (!head || !looks_like_archive(*head))
        return fail(Errc::bad_input,
                    "This is no archive of traces.",
                    bytes.source,
                    "make one with gaswright trace pack make");
    ByteReader in(std::string_view(*head).substr(8));
    if (auto const made = in.get<std::uint32_t>(); made != version)
        return fail(
            Errc::bad_input,
            fmt::format(
                "The archive is of version {}; this program reads version {}.", made, version),
            bytes.source,
            "read it with the program that made it");
    Archive out;
    out.bytes_ = std::move(bytes);
    out.indexed_ = out.take_index();
    if (!out.indexed_) out.walk();
    return out;
}

bool Archive::take_index() {
    if (bytes_.size < file_head + block_head + trailer) return false;
    auto const end = bytes_at(bytes_, bytes_.size - trailer, trailer);
    if (!end || std::string_view(*end).substr(0, 8) != index_mark) return false;
    std::uint64_t at = ByteReader(std::string_view(*end).substr(8)).get<std::uint64_t>();
    std::uint64_t const last = at;
    std::uint64_t beyond = bytes_.size - trailer;
    std::vector<std::vector<ArchiveEntry>> parts;  // from the last index back to the first
    std::array<char, block_head> room{};
    while (at != 0) {
        auto const head = block_at(bytes_, at, room);
        if (!head || head->kind != index_block || at >= beyond) return false;
        auto const size = block_head + head->head + head->body;
        if (parts.empty() && at + size != beyond) return false;
        auto const block = bytes_at(bytes_, at, size);
        if (!block || !checksum_holds(*block)) return false;
        ByteReader in(std::string_view(*block).substr(block_head));
        auto const before = in.get<std::uint64_t>();
        std::vector<ArchiveEntry> part;
        for (std::uint64_t i = 0; i < head->body / entry_bytes; ++i) {
            auto e = entry_of(in);
            if (e.offset < file_head || e.size < block_head || e.offset > at ||
                e.size > at - e.offset)
                return false;
            part.push_back(std::move(e));
        }
        parts.push_back(std::move(part));
        beyond = at, at = before;
    }
    for (auto part = parts.rbegin(); part != parts.rend(); ++part)
        entries_.insert(entries_.end(), part->begin(), part->end());
    whole_ = bytes_.size, last_index_ = last;
    return true;
}

// A damaged run in the middle stays in the list: the place of the next is known, and reading the
// damaged one says so. What cannot be a block ends the walk.
void Archive::walk() {
    entries_.clear();
    whole_ = file_head, last_index_ = 0;
    std::uint64_t at = file_head;
    std::vector<ArchiveEntry> doubtful;  // since the last whole block
    std::array<char, block_head> room{};
    while (auto const head = block_at(bytes_, at, room)) {
        std::uint64_t size = block_head + head->head + head->body;
        auto const block = bytes_at(bytes_, at, size);
        if (!block) break;
        bool const holds = checksum_holds(*block);
        if (head->kind == run_block) {
            auto const parts = std::string_view(*block).substr(block_head);
            auto const known = packed_head(parts.substr(0, head->head), "");
            doubtful.push_back(known ? entry_for(known->trace, parts.substr(head->head), at, size)
                                     : ArchiveEntry{at, size, std::nullopt, std::string(32, '\0')});
        }
        if (holds && head->kind == index_block) {
            auto const end = bytes_at(bytes_, at + size, trailer);
            if (!end || std::string_view(*end).substr(0, 8) != index_mark) break;
            last_index_ = at;
            size += trailer;
        }
        at += size;
        if (!holds) continue;
        entries_.insert(entries_.end(), doubtful.begin(), doubtful.end());
        doubtful.clear();
        whole_ = at;
    }
}

std::string Archive::fingerprint() const {
    ByteWriter all;
    for (auto const& e : entries_) put_entry(all, e);
    return sha256(all.bytes());
}

std::string Archive::name_of(std::size_t run) const {
    return fmt::format("{}:run {}", bytes_.source, run + 1);
}

Result<PackedRun> Archive::block(std::size_t run, bool checked) const {
    if (run >= entries_.size())
        return fail(
            Errc::not_found,
            fmt::format("The archive has no run {}; it holds {}.", run + 1, entries_.size()),
            bytes_.source);
    auto const& e = entries_[run];
    if (e.size > block_head + largest_packed_head + largest_packed_body)
        return fail(Errc::bad_input, "The run is larger than any can be.", name_of(run));
    GW_TRY(auto const bytes, bytes_at(bytes_, e.offset, e.size));
    auto const head = block_head_of(bytes);
    bool const whole =
        head.kind == run_block && possible(head) && block_head + head.head + head.body == e.size;
    if (!whole || (checked && !checksum_holds(bytes)))
        return fail(Errc::bad_input,
                    "The run is damaged: its checksum does not hold.",
                    name_of(run),
                    "take the run from its source again");
    PackedRun out;
    out.head = bytes.substr(block_head, head.head);
    out.body = bytes.substr(block_head + head.head);
    return out;
}

Result<Trace> Archive::read(std::size_t run, Unpacker& unpacker) const {
    GW_TRY(auto const packed, block(run, true));
    return unpacker.unpacked(packed.head, packed.body, name_of(run));
}

Result<RunHead> Archive::head(std::size_t run) const {
    GW_TRY(auto const packed, block(run, true));
    return packed_head(packed.head, name_of(run));
}

Result<> Archive::check(std::size_t run) const {
    GW_CHECK(block(run, true));
    return {};
}

}  // namespace gw::trace
