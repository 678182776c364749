#include "trace/block_kernels.hpp"

#include <gtest/gtest.h>

#include <bit>
#include <cmath>

#include "base/random.hpp"
#include "trace/follow.hpp"
#include "trace/random_runs.hpp"

namespace gw::trace {
namespace {

std::vector<float> noisy(std::size_t n, std::uint64_t number, double offset = 3) {
    RandomStream random(515, number);
    std::vector<float> out(n);
    for (std::size_t i = 0; i < n; ++i)
        out[i] =
            static_cast<float>(offset + 0.01 * static_cast<double>(i % 97) + 0.3 * random.normal());
    return out;
}

// Each sum as it is promised, in plain loops over eight lanes.
float by_neighbours(std::span<float const> v) {
    return ((v[0] + v[1]) + (v[2] + v[3])) + ((v[4] + v[5]) + (v[6] + v[7]));
}

template <class T>
T total_of(std::array<T, 8> const& v) {
    return ((v[0] + v[4]) + (v[2] + v[6])) + ((v[1] + v[5]) + (v[3] + v[7]));
}

// Every test below is of every width that this processor has, the narrowest included.
class BlockKernels : public testing::TestWithParam<std::string> {
  protected:
    void SetUp() override { use_kernel_width(GetParam()); }
    void TearDown() override { use_kernel_width(""); }
};

TEST_P(BlockKernels, SumBlocksAsThePlainLoopDoes) {
    for (std::size_t const n : {8U, 9U, 63U, 64U, 65U, 127U, 200U, 1000U, 12'000U, 12'345U}) {
        auto const y = noisy(n, n);
        std::vector<float> sum(n / 8 + blocks_behind);
        block_sums(y, 2.5F, sum.data());
        for (std::size_t b = 0; b < n / 8; ++b) {
            std::array<float, 8> v{};
            for (std::size_t i = 0; i < 8; ++i) v[i] = y[8 * b + i] - 2.5F;
            ASSERT_EQ(sum[b], by_neighbours(v)) << n << " samples, block " << b;
        }
    }
}

TEST_P(BlockKernels, TellRoughnessAsThePlainLoopDoes) {
    auto const y = noisy(1211, 4);
    for (auto const& [first, last] : std::vector<std::array<std::size_t, 2>>{
             {0, 1}, {0, 8}, {3, 20}, {0, 151}, {140, 151}, {7, 7}}) {
        std::array<float, 8> lanes{};
        float most = 0;
        for (std::size_t b = first; b < last; ++b) {
            std::array<float, 8> v{};
            for (std::size_t i = 0; i < 8; ++i) {
                float const* p = &y[8 * b + i];
                float const third = (p[3] - p[0]) - 3.0F * (p[2] - p[1]);
                v[i] = third * third;
            }
            float const sum = by_neighbours(v);
            lanes[(b - first) % 8] += sum, most = std::max(most, sum);
        }
        auto const got = roughness(y, first, last);
        EXPECT_EQ(got.total, static_cast<double>(total_of(lanes))) << first << " to " << last;
        EXPECT_EQ(got.most, most) << first << " to " << last;
    }
}

TEST_P(BlockKernels, LayACubicAsThePlainLoopDoes) {
    auto const sum = noisy(100 + blocks_behind, 9);
    std::vector<double> level(108, -1.0);
    std::vector<float> above(108, -1.0F);
    std::array<double, 4> const cubic{0.4, -0.3, 0.7, 0.11};
    for (KnotSpan const& span : {KnotSpan{0, 13, 0, 0.02, 0.07}, KnotSpan{13, 100, 1, 0.1, 0.01}}) {
        lay_span(span, cubic, sum.data(), level.data(), above.data());
        for (std::size_t b = span.first; b < span.last; ++b) {
            double const u = span.u + static_cast<double>(b - span.first) * span.u_step;
            double const v = cubic[0] + (cubic[1] + (cubic[2] + cubic[3] * u) * u) * u;
            ASSERT_EQ(level[b], v);
            ASSERT_EQ(above[b], static_cast<float>(static_cast<double>(sum[b]) - 8 * v));
        }
    }
}

TEST_P(BlockKernels, WeighBlocksAsThePlainLoopDoes) {
    auto const sum = noisy(40, 2);
    std::vector<double> weights(160);
    RandomStream random(8, 8);
    for (double& w : weights) w = random.normal();
    for (std::size_t last = 5; last < 16; ++last) {
        std::array<std::array<double, 4>, 2> parts{};
        for (std::size_t b = 5; b < last; ++b)
            for (std::size_t k = 0; k < 4; ++k)
                parts[(b - 5) % 2][k] += static_cast<double>(sum[b]) * weights[4 * b + k];
        std::array<double, 8> c{1, 2, 3, 4, 5, 6, 7, 8};
        auto want = c;
        for (std::size_t k = 0; k < 4; ++k) want[2 + k] += parts[0][k] + parts[1][k];
        add_moments({5, last, 2, 0, 0}, sum.data(), weights.data(), c.data());
        EXPECT_EQ(c, want) << last;
    }
}

// Of a plain search through all sums: widths up to 8 at every place, those that the end cuts short
// included; wider ones at every half.
bool plainly_stands_out(std::vector<float> const& rest,
                        std::vector<float> const& tolerance,
                        SumLimits const& limits) {
    for (std::size_t width = 1, round = 0; width <= 8 || width <= rest.size(); width *= 2, ++round)
        for (std::size_t i = 0; i + (width <= 8 ? 1 : width) <= rest.size();
             i += width <= 8 ? 1 : width / 2) {
            double sum = 0, allowed = static_cast<double>(limits.noise[round]);
            for (std::size_t k = i; k < std::min(i + width, rest.size()); ++k)
                sum += static_cast<double>(rest[k]), allowed += static_cast<double>(tolerance[k]);
            if (std::abs(sum) > allowed) return true;
        }
    return false;
}

TEST_P(BlockKernels, FindWhatStandsOutAtEveryWidthAndPlace) {
    SumLimits limits;
    for (std::size_t round = 0; round < limits.noise.size(); ++round)
        limits.noise[round] = 4 * std::sqrt(std::ldexp(1.0F, static_cast<int>(round)));
    RandomStream random(99, 1);
    int found = 0, none = 0;
    for (int run = 0; run < 3000; ++run) {
        auto const n = static_cast<std::size_t>(1 + 300 * random.uniform());
        std::vector<float> rest(n), tolerance(n, 0.0F);
        for (float& v : rest) v = static_cast<float>(0.8 * random.normal());
        // A hump of some width and height somewhere; in every other run tolerated in part.
        auto const at = static_cast<std::size_t>(static_cast<double>(n) * random.uniform()),
                   width = std::min<std::size_t>(
                       n - at, static_cast<std::size_t>(1 + 60 * random.uniform()));
        double const height =
            8 * random.uniform() / std::sqrt(static_cast<double>(width)) * (run % 3 - 1);
        for (std::size_t i = at; i < at + width; ++i) rest[i] += static_cast<float>(height);
        if (run % 2 == 0)
            for (std::size_t i = at; i < at + width; ++i)
                tolerance[i] = static_cast<float>(0.5 * std::abs(height));
        bool const want = plainly_stands_out(rest, tolerance, limits);
        (want ? found : none)++;
        std::vector<float> work(2 * (n + 32));
        EXPECT_EQ(stands_out(rest.data(), tolerance.data(), n, limits, 1, work.data()), want)
            << run << ": " << n << " blocks";
        if (run % 2 != 0) {
            EXPECT_EQ(stands_out(rest.data(), nullptr, n, limits, 1, work.data()), want) << run;
        }
        EXPECT_FALSE(stands_out(rest.data(), tolerance.data(), n, limits, 100, work.data()));
    }
    EXPECT_GT(found, 300);
    EXPECT_GT(none, 300);
}

TEST_P(BlockKernels, MultiplyRowsAndMixShapesAsThePlainLoopDoes) {
    auto const y = noisy(64, 1), a = noisy(64, 2), b = noisy(64, 3), c = noisy(64, 4);
    for (std::size_t const count : {8U, 40U, 64U}) {
        std::array<std::array<float, 8>, 3> lanes{};
        for (std::size_t i = 0; i < count; ++i) {
            float const v = y[i] - 1.5F;
            lanes[0][i % 8] += v * a[i], lanes[1][i % 8] += v * b[i], lanes[2][i % 8] += v * c[i];
        }
        auto const got = row_products(y.data(), 1.5F, count, a.data(), b.data(), c.data());
        for (std::size_t r = 0; r < 3; ++r)
            EXPECT_EQ(got[r], static_cast<double>(total_of(lanes[r]))) << count;
    }
    ShapeTaps const taps{{y.data(), a.data(), b.data(), c.data()}, {-0.1F, 0.7F, 0.5F, -0.1F}};
    std::vector<float> shape(24, 2.0F), rest(24), tolerance(24);
    add_taps(taps, 21, shape.data());
    rest_of(y.data(), shape.data(), 21, 0.25F, rest.data(), tolerance.data());
    for (std::size_t i = 0; i < 21; ++i) {
        float const outer = -0.1F * y[i] + -0.1F * c[i], inner = 0.7F * a[i] + 0.5F * b[i];
        EXPECT_EQ(shape[i], 2.0F + (inner + outer));
        EXPECT_EQ(rest[i], y[i] - shape[i]);
        EXPECT_EQ(tolerance[i], 0.25F * std::abs(shape[i]));
    }
}

INSTANTIATE_TEST_SUITE_P(EveryWidth,
                         BlockKernels,
                         testing::ValuesIn(kernel_widths()),
                         [](auto const& p) { return p.param; });

std::uint64_t bits_of(DetectorPeaks const& found) {
    std::uint64_t hash = found.peaks.size();
    auto const add = [&](double v) {
        hash = (hash ^ std::bit_cast<std::uint64_t>(v)) * 0x9E3779B97F4A7C15ULL;
        hash ^= hash >> 29U;
    };
    for (auto const& p : found.peaks)
        for (double const v : {p.start_s,
                               p.apex_s,
                               p.end_s,
                               p.area,
                               p.area_u,
                               p.height,
                               p.width_half_s,
                               p.resolution_next.value_or(-1)})
            add(v);
    add(found.noise.rms), add(found.noise.drift_per_s);
    for (auto const& s : found.steps) add(s.step);
    return hash;
}

// The whole of a followed run, to the last bit.
TEST(Follow, GivesTheSameBytesAtEveryWidth) {
    std::vector<std::uint64_t> first;
    auto const widths = kernel_widths();
    ASSERT_FALSE(widths.empty());
    for (auto const& width : widths) {
        use_kernel_width(width);
        std::vector<std::uint64_t> all;
        std::size_t followed = 0;
        for (std::uint64_t number = 0; number < 10; ++number) {
            SyntheticDetector d;
            d.offset = 5 - static_cast<double>(number), d.drift_per_s = 3e-4;
            d.white_noise = 0.004;
            for (int k = 0; k < 9; ++k) {
                double const sigma = 0.4 + 0.05 * k + 0.03 * static_cast<double>(number);
                d.peaks.push_back({(k + 1) * 3.0 * sigma, 20.0 + 22 * k, sigma, 0.4 * sigma});
                if (k % 3 == 2) d.peaks.push_back({sigma, 20.0 + 22 * k + 7 * sigma, sigma, 0.1});
            }
            PeakFollower follower;
            for (std::uint64_t run = 0; run < 6; ++run) {
                SynthesisOptions o;
                o.duration_s = 240, o.seed = number, o.run = run;
                auto now = d;
                for (auto& p : now.peaks)
                    p.area *= 1 + 0.01 * static_cast<double>(run),
                        p.mu += 0.013 * static_cast<double>(run);
                all.push_back(bits_of(follower.find(synthesise({now}, o), 1, {})));
            }
            followed += follower.followed();
        }
        EXPECT_GT(followed, 30U) << width;
        if (first.empty()) first = all;
        EXPECT_EQ(all, first) << width << " is not as " << widths.front();
    }
    use_kernel_width("");
}

}  // namespace
}  // namespace gw::trace
