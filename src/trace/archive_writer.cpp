#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <unordered_set>

#include "trace/archive.hpp"
#include "trace/archive_layout.hpp"

namespace gw::trace {

namespace {

using namespace layout;

std::string reason() { return std::strerror(errno); }  // NOLINT(concurrency-mt-unsafe)

tl::unexpected<Error> cannot_write(std::string const& path) {
    return fail(Errc::io,
                fmt::format("Writing failed ({}).", reason()),
                path,
                "check free space and the right to write there");
}

}  // namespace

struct ArchiveWriter::State {
    int fd = -1;
    std::string path, working;  // the name it is to have; the name it has until finished
    std::uint64_t at{}, last_index{}, mended{};
    std::size_t runs{};
    std::vector<ArchiveEntry> fresh;  // not in an index yet
    std::unordered_set<std::string> contents;

    State() = default;
    State(State const&) = delete;
    State& operator=(State const&) = delete;
    ~State() {
        if (fd >= 0) ::close(fd);
    }

    Result<> open(int flags) {
        fd = ::open(working.c_str(), O_RDWR | O_CLOEXEC | flags, 0666);
        if (fd < 0)
            return fail(Errc::io,
                        fmt::format("The archive cannot be opened for writing ({}).", reason()),
                        working,
                        "check the path and the right to write there");
        if (::flock(fd, LOCK_EX | LOCK_NB) != 0)
            return fail(Errc::busy,
                        "Somebody else is writing to this archive.",
                        path,
                        "wait until that is done");
        return {};
    }
    Result<> write(std::string_view bytes) {
        while (!bytes.empty()) {
            auto const done = ::pwrite(fd, bytes.data(), bytes.size(), static_cast<off_t>(at));
            if (done < 0 && errno == EINTR) continue;
            if (done <= 0) return cannot_write(working);
            at += static_cast<std::uint64_t>(done);
            bytes.remove_prefix(static_cast<std::size_t>(done));
        }
        return {};
    }
    Result<> write_index() {
        ByteWriter entries, before, end;
        std::size_t const count = std::min(fresh.size(), runs_per_index);
        for (std::size_t i = 0; i < count; ++i) put_entry(entries, fresh[i]);
        before.put(last_index);
        auto const here = at;
        end.raw(index_mark), end.put(here);
        GW_CHECK(write(block_bytes(index_block, before.bytes(), entries.bytes()) + end.bytes()));
        last_index = here;
        fresh.erase(fresh.begin(), fresh.begin() + static_cast<std::ptrdiff_t>(count));
        return {};
    }
};

ArchiveWriter::ArchiveWriter(std::unique_ptr<State> state) : state_(std::move(state)) {}
ArchiveWriter::~ArchiveWriter() = default;
ArchiveWriter::ArchiveWriter(ArchiveWriter&&) noexcept = default;
ArchiveWriter& ArchiveWriter::operator=(ArchiveWriter&&) noexcept = default;

Result<ArchiveWriter> ArchiveWriter::create(std::string const& path) {
    auto state = std::make_unique<State>();
    state->path = path, state->working = path + ".part";
    GW_CHECK(state->open(O_CREAT));
    if (::ftruncate(state->fd, 0) != 0) return cannot_write(state->working);
    ByteWriter head;
    head.raw(file_mark);
    head.put(version), head.put(std::uint32_t{0}), head.put(std::uint64_t{0});
    GW_CHECK(state->write(head.bytes()));
    return ArchiveWriter(std::move(state));
}

Result<ArchiveWriter> ArchiveWriter::append(std::string const& path) {
    auto state = std::make_unique<State>();
    state->path = state->working = path;
    GW_CHECK(state->open(0));
    GW_TRY(auto bytes, bytes_of_file(path));
    GW_TRY(auto const archive, Archive::open(std::move(bytes)));
    state->runs = archive.size();
    state->at = archive.whole_bytes();
    state->mended = archive.lost_bytes();
    state->last_index = archive.last_index();
    for (auto const& e : archive.entries()) state->contents.insert(e.content);
    if (!archive.indexed()) {
        // Whatever broke the index, a new one over everything mends it.
        state->fresh = archive.entries();
        state->last_index = 0;
        if (state->mended > 0 && ::ftruncate(state->fd, static_cast<off_t>(state->at)) != 0)
            return cannot_write(path);
    }
    return ArchiveWriter(std::move(state));
}

Result<bool> ArchiveWriter::add(Trace const& trace) {
    GW_TRY(auto const run, packed(trace));
    auto const bytes = block_bytes(run_block, run.head, run.body);
    auto entry = entry_for(trace, run.body, state_->at, bytes.size());
    if (!state_->contents.insert(entry.content).second) return false;
    while (state_->fresh.size() >= runs_per_index) GW_CHECK(state_->write_index());
    entry.offset = state_->at;
    GW_CHECK(state_->write(bytes));
    state_->fresh.push_back(std::move(entry));
    ++state_->runs;
    return true;
}

Result<> ArchiveWriter::finish() {
    auto& s = *state_;
    if (s.last_index == 0) GW_CHECK(s.write_index());
    while (!s.fresh.empty()) GW_CHECK(s.write_index());
    if (::fsync(s.fd) != 0) return cannot_write(s.working);
    if (s.working != s.path && std::rename(s.working.c_str(), s.path.c_str()) != 0)
        return cannot_write(s.path);
    return {};
}

std::size_t ArchiveWriter::runs() const { return state_->runs; }
std::uint64_t ArchiveWriter::mended_bytes() const { return state_->mended; }

}  // namespace gw::trace
