#include "base/hash.hpp"

#include <openssl/evp.h>

#include <array>
#include <cassert>

namespace gw {

std::string sha256(std::string_view bytes) {
    std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
    unsigned int length = 0;
    [[maybe_unused]] int const done =
        EVP_Digest(bytes.data(), bytes.size(), digest.data(), &length, EVP_sha256(), nullptr);
    assert(done == 1 && length == 32);
    static constexpr std::string_view digits = "0123456789abcdef";
    std::string hex;
    hex.reserve(64);
    for (unsigned int i = 0; i < length; ++i) {
        hex.push_back(digits[digest[i] >> 4U]);
        hex.push_back(digits[digest[i] & 15U]);
    }
    return hex;
}

}  // namespace gw
