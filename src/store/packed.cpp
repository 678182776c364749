#include "store/packed.hpp"

#include <zstd.h>

#include "base/file.hpp"

namespace gw::store {

namespace {

constexpr int level =
    3;  // traces of text shrink to about a third; higher levels cost more than they save

}  // namespace

Result<std::string> packed(std::string_view bytes) {
    if (bytes.size() > largest_file_bytes)
        return fail(
            Errc::out_of_range, "The file is larger than 1 GiB.", "evidence", "give less of it");
    std::string out(ZSTD_compressBound(bytes.size()), '\0');
    auto const size = ZSTD_compress(out.data(), out.size(), bytes.data(), bytes.size(), level);
    if (ZSTD_isError(size) != 0)
        return fail(
            Errc::io, "The file could not be compressed.", "evidence", "free memory and repeat");
    out.resize(size);
    return out;
}

Result<std::string> unpacked(std::string_view kept, std::size_t size) {
    auto const damaged = [] { return fail(Errc::io, "it does not decompress", "evidence"); };
    auto const stated = ZSTD_getFrameContentSize(kept.data(), kept.size());
    if (stated == ZSTD_CONTENTSIZE_ERROR || stated == ZSTD_CONTENTSIZE_UNKNOWN || stated != size ||
        size > largest_file_bytes)
        return damaged();
    std::string out(size, '\0');
    auto const got = ZSTD_decompress(out.data(), out.size(), kept.data(), kept.size());
    if (ZSTD_isError(got) != 0 || got != size) return damaged();
    return out;
}

}  // namespace gw::store
