#include "assay/range_draw.hpp"

#include <algorithm>

#include "base/random.hpp"

namespace gw::assay {

namespace {
constexpr int most_tries = 300;
constexpr double rounding = 1e-12;
}  // namespace

RangeDraw::RangeDraw(std::span<double const> low, std::span<double const> high)
    : low_(low.begin(), low.end()), high_(high.begin(), high.end()) {
    for (std::size_t i = 0; i < low_.size(); ++i) {
        low_sum_ += low_[i];
        high_sum_ += high_[i];
        if (high_[i] - low_[i] > high_[widest_] - low_[widest_]) widest_ = i;
    }
    // Seen once: where not one of many tries lies inside, trying again at every draw is waste.
    std::vector<double> x(low_.size());
    int even = 0;
    for (std::uint64_t i = 0; i < 64 && even == 0; ++i) even += draw(~std::uint64_t{0}, i, x);
    hopeless_ = even == 0;
}

bool RangeDraw::draw(std::uint64_t seed, std::uint64_t index, std::span<double> x) const {
    RandomStream random(seed, index);
    double sum = 0;
    for (int tries = 0; tries < (hopeless_ ? 1 : most_tries); ++tries) {
        sum = 0;
        for (std::size_t i = 0; i < x.size(); ++i) {
            if (i == widest_) continue;
            x[i] = low_[i] + (high_[i] - low_[i]) * random.uniform();
            sum += x[i];
        }
        x[widest_] = 1 - sum;
        if (x[widest_] >= low_[widest_] - rounding && x[widest_] <= high_[widest_] + rounding) {
            x[widest_] = std::clamp(x[widest_], low_[widest_], high_[widest_]);
            return true;
        }
    }
    x[widest_] = low_[widest_] + (high_[widest_] - low_[widest_]) * random.uniform();
    sum += x[widest_];
    bool const down = sum > 1;
    double const span = down ? sum - low_sum_ : high_sum_ - sum;
    double const kept = span > 0 ? (down ? 1 - low_sum_ : high_sum_ - 1) / span : 0;
    for (std::size_t i = 0; i < x.size(); ++i)
        x[i] = down ? low_[i] + kept * (x[i] - low_[i]) : high_[i] - kept * (high_[i] - x[i]);
    return false;
}

}  // namespace gw::assay
