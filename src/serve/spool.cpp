#include "serve/spool.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <filesystem>
#include <system_error>
#include <utility>

namespace gw::serve {

namespace {

tl::unexpected<Error> trouble(std::string const& what, std::string const& where) {
    return fail(Errc::io,
                fmt::format("{} ({}).", what, std::generic_category().message(errno)),
                where,
                "make room on that disk, then send it again");
}

std::string nearest(std::string const& folder) {
    std::error_code ignored;
    std::filesystem::path at = std::filesystem::absolute(folder.empty() ? "." : folder, ignored);
    while (!std::filesystem::is_directory(at, ignored) && at.has_relative_path())
        at = at.parent_path();
    return at.string();
}

}  // namespace

NamelessFile::NamelessFile(NamelessFile&& other) noexcept
    : descriptor_(std::exchange(other.descriptor_, -1)) {}

NamelessFile& NamelessFile::operator=(NamelessFile&& other) noexcept {
    std::swap(descriptor_, other.descriptor_);
    return *this;
}

NamelessFile::~NamelessFile() {
    if (descriptor_ >= 0) ::close(descriptor_);
}

int NamelessFile::released() { return std::exchange(descriptor_, -1); }

Result<NamelessFile> nameless_file(std::string const& folder) {
    auto const here = nearest(folder);
    constexpr mode_t owner_only = 0600;
    int const made = ::open(here.c_str(), O_TMPFILE | O_RDWR | O_CLOEXEC, owner_only);
    if (made >= 0) return NamelessFile(made);
    // File systems that know no files without a name: one with a name, which is taken off at once.
    auto name = here + "/.gaswright-upload-XXXXXX";
    int const named = ::mkostemp(name.data(), O_CLOEXEC);
    if (named < 0) return trouble("No file can be made for what is sent", here);
    ::unlink(name.c_str());
    return NamelessFile(named);
}

Result<std::shared_ptr<Mapped const>> Mapped::of(NamelessFile file) {
    struct stat facts {};
    if (::fstat(file.descriptor(), &facts) != 0)
        return trouble("What was sent cannot be read", "body");
    auto const size = static_cast<std::size_t>(facts.st_size);
    std::string_view bytes;
    if (size > 0) {
        void* const at = ::mmap(nullptr, size, PROT_READ, MAP_SHARED, file.descriptor(), 0);
        if (at == MAP_FAILED) return trouble("What was sent cannot be read", "body");
        bytes = {static_cast<char const*>(at), size};
    }
    return std::shared_ptr<Mapped const>(new Mapped(std::move(file), bytes));
}

Mapped::~Mapped() {
    if (!bytes_.empty()) ::munmap(const_cast<char*>(bytes_.data()), bytes_.size());
}

void Mapped::let_go(std::size_t before) const {
    auto const page = static_cast<std::size_t>(::sysconf(_SC_PAGESIZE));
    auto const length = std::min(before, bytes_.size()) / page * page;
    // Of a shared mapping only the pages here are given back; the file keeps what it holds.
    if (length > 0) ::madvise(const_cast<char*>(bytes_.data()), length, MADV_DONTNEED);
}

}  // namespace gw::serve
