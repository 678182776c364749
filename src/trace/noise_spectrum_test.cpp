#include "trace/noise_spectrum.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "base/random.hpp"
#include "trace/noise.hpp"

namespace gw::trace {
namespace {

// The covariances written out, pair by pair: what one walk over the bins must equal.
NoiseGain by_pairs(std::vector<double> const& w, double bin_s) {
    NoiseGain out;
    for (std::size_t a = 0; a < w.size(); ++a)
        for (std::size_t b = 0; b < w.size(); ++b) {
            double const away = std::abs(static_cast<double>(a) - static_cast<double>(b));
            out.white += a == b ? w[a] * w[a] : 0;
            for (int k = 0; k < 13; ++k) {  // covariance of the means over two bins
                double const r = std::exp2(-k), e = std::exp(-r);
                out.flicker +=
                    w[a] * w[b] *
                    (a == b ? 2 * (r - 1 + e) : (1 - e) * (1 - e) * std::exp(-(away - 1) * r)) /
                    (r * r);
            }
            // Of a walk that begins at the first bin: min(a, b) steps in common.
            out.walk += w[a] * w[b] * bin_s * static_cast<double>(std::min(a, b));
        }
    return out;
}

TEST(NoiseGain, EqualsTheSumOverAllPairs) {
    std::vector<double> w;
    for (int k = 0; k < 40; ++k) w.push_back(std::sin(0.7 * k) + (k > 12 && k < 25 ? 1.0 : 0.0));
    double const mean = std::accumulate(w.begin(), w.end(), 0.0) / 40;
    for (double& x : w) x -= mean;
    auto const fast = noise_gain(w, 0.16), plain = by_pairs(w, 0.16);
    EXPECT_NEAR(fast.white, plain.white, 1e-10 * plain.white);
    EXPECT_NEAR(fast.flicker, plain.flicker, 1e-10 * plain.flicker);
    EXPECT_NEAR(fast.walk, plain.walk, 1e-10 * plain.walk);
}

TEST(NoiseGain, OfABendIsThatOfSlopesDrawn) {
    // A block against the line through its neighbours: level and slope drop out.
    std::vector<double> w(30, 0.0);
    for (int k = 0; k < 10; ++k) w[k] = w[20 + k] = 0.05, w[10 + k] = -0.1;
    RandomStream random(5, 1);
    double const bin_s = 0.5;
    double squares = 0;
    int const draws = 20000;
    for (int n = 0; n < draws; ++n) {
        double slope = 3, level = -7, sum = 0;  // whatever they begin with
        for (double const x : w) {
            sum += x * level;
            double const turn = std::sqrt(bin_s) * random.normal();
            level += bin_s * (slope + 0.5 * turn);
            slope += turn;
        }
        squares += sum * sum;
    }
    EXPECT_NEAR(squares / draws / noise_gain(w, bin_s).bend, 1, 0.05);
}

struct Made {
    double white, flicker, walk;  // standard deviations: a sample, an octave, the root of a second
};

std::vector<double> made(Made const& m, double dt, std::size_t n, std::uint64_t stream) {
    RandomStream random(11, stream);
    std::vector<double> y(n), state(11, 0.0);
    for (double& s : state) s = random.normal();
    double walk = 0;
    for (double& v : y) {
        v = m.white * random.normal() + walk;
        walk += m.walk * std::sqrt(dt) * random.normal();
        for (std::size_t k = 0; k < state.size(); ++k) {
            double const keep = std::exp(-dt / (0.16 * std::exp2(static_cast<double>(k))));
            state[k] = keep * state[k] + std::sqrt(1 - keep * keep) * random.normal();
            v += m.flicker * state[k];
        }
    }
    return y;
}

// Told from half of the run: what a block of 10 s under a line through 10 s on either side
// scatters.
TEST(NoiseSpectrum, TellsTheScatterOfWhatItHasNotSeen) {
    for (auto const& kind : {Made{1, 0, 0}, Made{1, 0.2, 0}, Made{0.3, 0.5, 0}, Made{1, 0, 0.2}}) {
        double seen = 0;
        std::vector<double> told;
        int const runs = 120;
        for (std::uint64_t run = 0; run < runs; ++run) {
            auto const y = made(kind, 0.02, 12000, run);
            std::vector<bool> free(y.size(), true);
            for (std::size_t i = 5000; i < 7000; ++i) free[i] = false;
            auto const spectrum = noise_spectrum(y, free, 0.02, {});
            std::vector<double> w(187, 0.0);  // bins of 0.16 s
            double sum = 0;
            for (std::size_t b = 0; b < w.size(); ++b) {
                w[b] = (b >= 62 && b < 125 ? 1.0 : -63.0 / 124) / 63;
                for (std::size_t k = 0; k < 8; ++k) sum += w[b] * y[5000 + 8 * b - 0 + k] / 8;
            }
            seen += sum * sum / runs;
            told.push_back(noise_gain(w, 0.16).variance(spectrum));
        }
        // The middle one: a few runs show a slow swing and rightly tell more.
        std::sort(told.begin(), told.end());
        EXPECT_NEAR(told[runs / 2] / seen, 1, 0.35)
            << kind.white << " " << kind.flicker << " " << kind.walk;
    }
}

TEST(NoiseSpectrum, ComparesNothingAcrossAStep) {
    auto y = made({1, 0, 0}, 0.02, 12000, 7);
    for (std::size_t i = 6000; i < y.size(); ++i) y[i] += 500;
    std::vector<bool> const free(y.size(), true);
    std::vector<std::size_t> const breaks{6000};
    auto const spectrum = noise_spectrum(y, free, 0.02, breaks);
    std::vector<double> w(120, 0.0);
    for (std::size_t b = 0; b < 40; ++b) w[b] = w[80 + b] = 0.5 / 40, w[40 + b] = -1.0 / 40;
    auto const gain = noise_gain(w, 0.16);
    EXPECT_LT(gain.variance(spectrum), 3 * gain.white * spectrum.white);
}

TEST(NoiseSpectrum, SaysNothingWhereNothingIsFree) {
    std::vector<double> const y(4000, 1.0);
    EXPECT_EQ(noise_spectrum(y, std::vector<bool>(y.size(), false), 0.02, {}).bin_s, 0);
}

TEST(RoundingOfMean, IsAStepOverRootTwelveWithoutNoiseAndNothingWithMuch) {
    EXPECT_NEAR(rounding_of_mean(2, 0), 2 / std::sqrt(12.0), 0.02);
    EXPECT_LT(rounding_of_mean(2, 2), 1e-6);
    // Drawn: the error of the mean of rounded noise of a quarter step, over levels.
    RandomStream random(3, 3);
    double squares = 0;
    for (int level = 0; level < 40; ++level) {
        double sum = 0;
        for (int k = 0; k < 4000; ++k)
            sum += std::round(level / 40.0 + 0.25 * random.normal()) - level / 40.0;
        squares += std::pow(sum / 4000, 2) / 40;
    }
    EXPECT_NEAR(std::sqrt(squares) / rounding_of_mean(1, 0.25), 1, 0.1);
}

}  // namespace
}  // namespace gw::trace
