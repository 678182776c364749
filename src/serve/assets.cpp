#include "serve/assets.hpp"

#include "base/text.hpp"

namespace gw::serve {

namespace {

// "a, W/\"b\", *" holds the tag; a weak mark does not matter here (RFC 9110, 13.1.2).
bool names(std::string_view list, std::string_view etag) {
    for (auto const part : split(list, ',')) {
        auto tag = trimmed(part);
        if (tag.substr(0, 2) == "W/") tag.remove_prefix(2);
        if (tag == "*" || tag == etag) return true;
    }
    return false;
}

bool takes(std::string_view accept, std::string_view wanted) {
    for (auto const part : split(accept, ',')) {
        auto const coding = trimmed(part);
        auto const semicolon = coding.find(';');
        if (trimmed(coding.substr(0, semicolon)) != wanted) continue;
        if (semicolon == coding.npos) return true;
        auto const weight = trimmed(coding.substr(semicolon + 1));
        auto const q = weight.substr(0, 2) == "q=" ? parse_number(weight.substr(2)) : std::nullopt;
        return !q || *q > 0;
    }
    return false;
}

}  // namespace

Response asset_response(Asset const& asset, Request const& request) {
    Response out;
    out.headers = {
        {"ETag", std::string(asset.etag)},
        {"Vary", "Accept-Encoding"},
        {"Cache-Control", asset.hashed ? "public, max-age=31536000, immutable" : "no-cache"}};
    if (names(request.header("if-none-match"), asset.etag)) {
        out.status = 304;
        return out;
    }
    out.headers.emplace_back("Content-Type", std::string(asset.type));
    auto const accept = request.header("accept-encoding");
    out.body = std::string(asset.plain);
    for (auto const& [coding, bytes] :
         {std::pair("br", asset.brotli), std::pair("gzip", asset.gzip)}) {
        if (bytes.empty() || !takes(accept, coding)) continue;
        out.headers.emplace_back("Content-Encoding", coding);
        out.body = std::string(bytes);
        break;
    }
    return out;
}

}  // namespace gw::serve
