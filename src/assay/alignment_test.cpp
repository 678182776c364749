#include "assay/alignment.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

namespace gw::assay {
namespace {

trace::Peak peak_at(double t, double height) {
    trace::Peak p;
    p.apex_s = t;
    p.start_s = t - 3;
    p.end_s = t + 3;
    p.height = height;
    p.width_half_s = 2;
    return p;
}

ExpectedPeak expected_at(double t, double window, std::size_t index) {
    ExpectedPeak e;
    e.component = gas::Component{static_cast<std::uint8_t>(index)};
    e.retention_s = t;
    e.window_s = window;
    return e;
}

/// An invented method: what was turned back first, what goes straight through, what was held.
struct Layout {
    std::vector<double> events{0, 21.8, 39, 156, 236};
    std::vector<ExpectedPeak> expected;
    std::vector<double> origins;  // of each expected peak
    Layout() {
        std::vector<std::pair<double, double>> const peaks{{43.6, 43.6},
                                                           {52.7, 0},
                                                           {70.4, 0},
                                                           {84.5, 0},
                                                           {90.2, 0},
                                                           {130.4, 0},
                                                           {153.9, 0},
                                                           {164.5, 117},
                                                           {175.1, 117},
                                                           {190.4, 117},
                                                           {214.9, 117}};
        for (auto const& [t, origin] : peaks) {
            expected.push_back(expected_at(t, 2.5, expected.size()));
            origins.push_back(origin);
        }
    }
    [[nodiscard]] double at(std::size_t e, double stretch) const {
        return origins[e] + stretch * (expected[e].retention_s - origins[e]);
    }
};

TEST(Alignment, LeavesARunAloneThatStandsWhereItShould) {
    Layout const layout;
    std::vector<trace::Peak> peaks;
    for (std::size_t e = 0; e < layout.expected.size(); ++e)
        if (e != 4) peaks.push_back(peak_at(layout.expected[e].retention_s + 0.1, 1));
    EXPECT_FALSE(align(peaks, layout.expected, layout.events)) << "one is missing, none has moved";
    EXPECT_FALSE(align({}, layout.expected, layout.events));
    EXPECT_FALSE(align(peaks, {}, layout.events));
}

TEST(Alignment, FollowsAFlowThatIsEightPercentOff) {
    Layout const layout;
    for (double const stretch : {0.92, 0.96, 1.04, 1.08}) {
        std::vector<trace::Peak> peaks;
        for (std::size_t e = 0; e < layout.expected.size(); ++e)
            peaks.push_back(peak_at(layout.at(e, stretch), 1));
        std::sort(peaks.begin(), peaks.end(), [](auto const& a, auto const& b) {
            return a.apex_s < b.apex_s;
        });
        auto const moved = align(peaks, layout.expected, layout.events);
        ASSERT_TRUE(moved) << stretch;
        EXPECT_TRUE(moved->moved) << stretch;
        EXPECT_NEAR(moved->stretch, stretch, 0.003);
        for (std::size_t e = 0; e < layout.expected.size(); ++e)
            EXPECT_NEAR(moved->retention_s[e], layout.at(e, stretch), 0.6) << e;
    }
}

// Shares over many invented runs and layouts: tests/truth/moved_names_test.cpp.

TEST(Alignment, SaysHowSureEachNameIsAndLeavesOutWhatCouldBeEither) {
    Layout const layout;
    std::vector<trace::Peak> peaks;
    for (std::size_t e = 0; e < layout.expected.size(); ++e)
        if (e != 5) peaks.push_back(peak_at(layout.at(e, 1.05), 1));
    // Where the missing one should be stand two of one height: neither has its name for sure.
    peaks.push_back(peak_at(layout.at(5, 1.05) - 0.2, 1));
    peaks.push_back(peak_at(layout.at(5, 1.05) + 0.2, 1));
    std::sort(peaks.begin(), peaks.end(), [](auto const& a, auto const& b) {
        return a.apex_s < b.apex_s;
    });
    auto const found = align(peaks, layout.expected, layout.events);
    ASSERT_TRUE(found);
    EXPECT_TRUE(found->moved);
    EXPECT_GT(found->confidence, 0.99);
    std::size_t without = 0;
    for (std::size_t i = 0; i < peaks.size(); ++i) {
        if (!found->names[i]) {
            ++without;
            EXPECT_NEAR(peaks[i].apex_s, layout.at(5, 1.05), 0.3);
        } else {
            EXPECT_GT(found->names[i]->confidence, 0.95);
            EXPECT_LE(found->names[i]->confidence, 1 + 1e-9);
        }
    }
    EXPECT_EQ(without, 2U);
}

TEST(Alignment, AnswersNothingForTooMuch) {
    Layout const layout;
    std::vector<trace::Peak> peaks;
    for (int k = 0; k < 200; ++k) peaks.push_back(peak_at(5 + k, 1));
    EXPECT_FALSE(align(peaks, layout.expected, layout.events));
}

}  // namespace
}  // namespace gw::assay
