#include "serve/session.hpp"

#include <openssl/crypto.h>
#include <openssl/rand.h>

#include <array>
#include <cstdlib>

namespace gw::serve {

namespace {

// Takes as long for a near miss as for a far one.
bool same(std::string_view a, std::string_view b) {
    return a.size() == b.size() && CRYPTO_memcmp(a.data(), b.data(), a.size()) == 0;
}

}  // namespace

std::optional<std::string> Sessions::exchange(std::string_view ticket) {
    if (used_ || !same(ticket, ticket_)) return std::nullopt;
    used_ = true;
    open_.push_back(draw_());
    return open_.back();
}

bool Sessions::knows(std::string_view session) const {
    for (auto const& open : open_)
        if (same(session, open)) return true;
    return false;
}

std::string random_word() {
    std::array<unsigned char, 32> bytes{};
    // Without randomness there is no door to guard: nothing may be served.
    if (RAND_bytes(bytes.data(), static_cast<int>(bytes.size())) != 1) std::abort();
    std::string out;
    for (auto const byte : bytes) {
        out += "0123456789abcdef"[byte >> 4U];
        out += "0123456789abcdef"[byte & 15U];
    }
    return out;
}

}  // namespace gw::serve
