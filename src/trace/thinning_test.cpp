#include "trace/thinning.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>

namespace gw::trace {
namespace {

TEST(Thinning, KeepsEverySampleOfAShortTrace) {
    std::vector<float> const signal = {1, 2, 3};
    EXPECT_EQ(thinned(signal, 10), (std::vector<std::size_t>{0, 1, 2}));
    EXPECT_TRUE(thinned(std::vector<float>{}, 10).empty());
    EXPECT_TRUE(thinned(std::vector<double>{}, 10).empty());
}

TEST(Thinning, KeepsAPeakOfOneSample) {
    std::vector<float> signal(15000, 0.0F);
    signal[7777] = 5.0F;
    auto const kept = thinned(signal, 100);
    EXPECT_LE(kept.size(), 100U);
    EXPECT_NE(std::find(kept.begin(), kept.end(), 7777U), kept.end());
}

RC_GTEST_PROP(Thinning, KeepsOrderEndsAndExtremes, (std::vector<float> const& signal)) {
    auto const most = *rc::gen::inRange<std::size_t>(4, 60);
    auto const kept = thinned(signal, most);
    RC_ASSERT(kept.size() <= most);
    RC_ASSERT(std::adjacent_find(kept.begin(), kept.end(), std::greater_equal<>()) == kept.end());
    if (signal.empty()) return;
    RC_ASSERT(kept.front() == 0U);
    RC_ASSERT(kept.back() == signal.size() - 1);
    auto const [low, high] = std::minmax_element(signal.begin(), signal.end());
    float seen_low = signal[kept.front()], seen_high = seen_low;
    for (auto const i : kept) {
        seen_low = std::min(seen_low, signal[i]);
        seen_high = std::max(seen_high, signal[i]);
    }
    RC_ASSERT(seen_low == *low);
    RC_ASSERT(seen_high == *high);
}

}  // namespace
}  // namespace gw::trace
