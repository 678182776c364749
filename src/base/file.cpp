#include "base/file.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>

namespace gw {

namespace {

struct Descriptor {
    int fd = -1;
    bool owned = true;
    explicit Descriptor(int file, bool owns = true) : fd(file), owned(owns) {}
    Descriptor(Descriptor const&) = delete;
    Descriptor& operator=(Descriptor const&) = delete;
    ~Descriptor() {
        if (owned && fd >= 0) ::close(fd);
    }
};

std::string reason() { return std::strerror(errno); }  // NOLINT(concurrency-mt-unsafe)

bool write_all(int fd, std::string_view bytes) {
    while (!bytes.empty()) {
        auto const written = ::write(fd, bytes.data(), bytes.size());
        if (written < 0 && errno == EINTR) continue;
        if (written <= 0) return false;
        bytes.remove_prefix(static_cast<std::size_t>(written));
    }
    return true;
}

}  // namespace

Result<std::string> read_file(std::string const& path, std::size_t limit) {
    bool const standard_input = path == "-";
    Descriptor const file(
        standard_input ? STDIN_FILENO : ::open(path.c_str(), O_RDONLY | O_CLOEXEC),
        !standard_input);
    if (file.fd < 0)
        return fail(Errc::io,
                    fmt::format("The file cannot be opened ({}).", reason()),
                    path,
                    "check the path and the right to read it");
    struct stat status {};
    if (::fstat(file.fd, &status) == 0 && S_ISDIR(status.st_mode))
        return fail(Errc::bad_input, "This is a folder, not a file.", path, "name the file itself");
    std::string bytes;
    if (S_ISREG(status.st_mode) && status.st_size > 0 &&
        static_cast<std::size_t>(status.st_size) <= limit)
        bytes.reserve(static_cast<std::size_t>(status.st_size));
    std::array<char, 1U << 16U> block{};
    for (;;) {
        auto const got = ::read(file.fd, block.data(), block.size());
        if (got < 0 && errno == EINTR) continue;
        if (got < 0)
            return fail(Errc::io,
                        fmt::format("Reading failed ({}).", reason()),
                        path,
                        "check the disk or the connection");
        if (got == 0) break;
        if (bytes.size() + static_cast<std::size_t>(got) > limit)
            return fail(Errc::bad_input,
                        fmt::format("The file is larger than {} MB.", limit >> 20U),
                        path,
                        "split it or give one run a file");
        bytes.append(block.data(), static_cast<std::size_t>(got));
    }
    return bytes;
}

Result<> write_file(std::string const& path, std::string_view bytes) {
    if (path == "-") {
        if (!write_all(STDOUT_FILENO, bytes))
            return fail(Errc::io, fmt::format("Writing failed ({}).", reason()), "standard output");
        return {};
    }
    std::string pattern = path + ".XXXXXX";
    Descriptor const file(::mkstemp(pattern.data()));
    if (file.fd < 0)
        return fail(Errc::io,
                    fmt::format("The file cannot be written ({}).", reason()),
                    path,
                    "check the folder and the right to write there");
    mode_t const mask = ::umask(0);
    ::umask(mask);
    bool const good = write_all(file.fd, bytes) && ::fchmod(file.fd, 0666U & ~mask) == 0 &&
                      ::fsync(file.fd) == 0 && std::rename(pattern.c_str(), path.c_str()) == 0;
    if (!good) {
        auto const why = reason();
        ::unlink(pattern.c_str());
        return fail(Errc::io,
                    fmt::format("Writing failed ({}).", why),
                    path,
                    "check free space and the right to write there");
    }
    return {};
}

std::string beside(std::string const& from, std::string const& path) {
    std::filesystem::path const given(path);
    if (path == "-" || given.is_absolute() || from == "-") return path;
    return (std::filesystem::path(from).parent_path() / given).lexically_normal().string();
}

}  // namespace gw
