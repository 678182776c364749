#pragma once
/// The page's files, embedded in the program as the build compressed them.
#include <span>
#include <string_view>

#include "serve/http.hpp"

namespace gw::serve {

struct Asset {
    std::string_view path;                 ///< "/index.html", "/assets/index-Bx3d.js"
    std::string_view type;                 ///< Content-Type
    std::string_view etag;                 ///< quoted, of the content before compression
    bool hashed = false;                   ///< the name changes with the content
    std::string_view plain, gzip, brotli;  ///< the latter two empty when they would not be smaller
};

std::span<Asset const> assets();

/// The asset with ETag, 304 when the caller has it (RFC 9110, 13.1.2), the smallest coding that the
/// caller takes (12.5.3): brotli, then gzip; hashed names for ever, the rest to be asked for again.
Response asset_response(Asset const& asset, Request const& request);

}  // namespace gw::serve
