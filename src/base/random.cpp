#include "base/random.hpp"

#include <cmath>
#include <numbers>

namespace gw {

std::array<std::uint32_t, 4> philox(std::array<std::uint32_t, 4> c,
                                    std::array<std::uint32_t, 2> k) {
    for (int round = 0; round < 10; ++round) {
        std::uint64_t const a = std::uint64_t{0xD2511F53U} * c[0];
        std::uint64_t const b = std::uint64_t{0xCD9E8D57U} * c[2];
        c = {static_cast<std::uint32_t>(b >> 32U) ^ c[1] ^ k[0],
             static_cast<std::uint32_t>(b),
             static_cast<std::uint32_t>(a >> 32U) ^ c[3] ^ k[1],
             static_cast<std::uint32_t>(a)};
        k[0] += 0x9E3779B9U;
        k[1] += 0xBB67AE85U;
    }
    return c;
}

double RandomStream::uniform() {
    if (left_ == 0) {
        block_ =
            philox({static_cast<std::uint32_t>(draws_),
                    static_cast<std::uint32_t>(draws_ >> 32U),
                    static_cast<std::uint32_t>(stream_),
                    static_cast<std::uint32_t>(stream_ >> 32U)},
                   {static_cast<std::uint32_t>(seed_), static_cast<std::uint32_t>(seed_ >> 32U)});
        ++draws_;
        left_ = 2;
    }
    unsigned const at = (2 - left_) * 2;
    --left_;
    std::uint64_t const bits = (std::uint64_t{block_[at]} << 32U | block_[at + 1]) >> 11U;
    return (static_cast<double>(bits) + 0.5) * 0x1p-53;
}

double RandomStream::normal() {
    if (has_spare_) {
        has_spare_ = false;
        return spare_;
    }
    double const radius = std::sqrt(-2.0 * std::log(uniform()));
    double const angle = 2.0 * std::numbers::pi * uniform();
    spare_ = radius * std::sin(angle);
    has_spare_ = true;
    return radius * std::cos(angle);
}

}  // namespace gw
