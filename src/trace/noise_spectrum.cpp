#include "trace/noise_spectrum.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <map>
#include <optional>

#include "base/wide.hpp"
#include "trace/noise.hpp"

namespace gw::trace {

namespace {

constexpr std::size_t octaves = 13;  // the longest is four thousand bins: beyond any run

}  // namespace

std::size_t samples_per_bin(double interval_s) {
    return std::max<std::size_t>(1, static_cast<std::size_t>(std::lround(0.16 / interval_s)));
}

namespace {

// A first-order process an octave: what it remembers of all bins before is one number. Answers the
// sum of their quadratic forms.
GW_WIDE double flicker_gain(double const* __restrict weight, std::size_t bins) {
    constexpr std::size_t lanes = 16;  // the last three stay empty
    std::array<double, lanes> keep{}, own{}, across{}, memory{}, sum{};
    for (std::size_t k = 0; k < octaves; ++k) {
        double const r = std::exp2(-static_cast<double>(k));  // a bin in time constants
        keep[k] = std::exp(-r);
        // Of the means over bins of a process of variance 1: variance, and covariance of
        // neighbours.
        own[k] = 2 * (r - 1 + keep[k]) / (r * r);
        across[k] = (1 - keep[k]) * (1 - keep[k]) / (r * r);
    }
    for (std::size_t b = 0; b < bins; ++b) {
        double const w = weight[b];
        for (std::size_t k = 0; k < lanes; ++k) {
            sum[k] += w * (own[k] * w + 2 * across[k] * memory[k]);
            memory[k] = keep[k] * memory[k] + w;
        }
    }
    double total = 0;
    for (std::size_t k = 0; k < octaves; ++k) total += sum[k];
    return total;
}

}  // namespace

NoiseGain noise_gain(std::span<double const> weight, double bin_s) {
    NoiseGain out;
    for (double const w : weight) out.white += w * w;
    out.flicker = flicker_gain(weight.data(), weight.size());
    // A walk reaches a bin with all its steps up to there: step b enters with the weights after it.
    double after = 0, moment = 0;
    for (std::size_t b = weight.size(); b-- > 1;) {
        moment += after + 0.5 * weight[b];  // of the weights about bin b
        after += weight[b];
        out.walk += after * after;
        out.bend += moment * moment;
        moment += 0.5 * weight[b];
    }
    out.walk *= bin_s;
    out.bend *= bin_s * bin_s * bin_s;
    return out;
}

double NoiseGain::degrees_of_freedom(NoiseSpectrum const& n) const {
    std::array<double, 4> const g{white, flicker, walk, bend};
    double u2 = 0;
    for (std::size_t a = 0; a < 4; ++a)
        for (std::size_t b = 0; b < 4; ++b) u2 += g[a] * n.covariance[a][b] * g[b];
    double const v = variance(n);
    return u2 > 0 ? 2 * v * v / u2 : INFINITY;
}

namespace {

struct Bins {
    std::vector<double> mean;
    std::vector<std::uint8_t> free;
    std::vector<std::size_t> stretch;  // changes where the level may have jumped
};

Bins bins_of(std::span<double const> y,
             std::vector<bool> const& free,
             std::size_t samples,
             std::span<std::size_t const> breaks) {
    std::size_t const n = y.size() / samples;
    Bins out{std::vector<double>(n), std::vector<std::uint8_t>(n, 1), std::vector<std::size_t>(n)};
    std::size_t stretch = 0;
    for (std::size_t b = 0; b < n; ++b) {
        double sum = 0;
        for (std::size_t i = b * samples; i < (b + 1) * samples; ++i) {
            sum += y[i];
            if (!free[i]) out.free[b] = 0;
        }
        while (stretch < breaks.size() && breaks[stretch] < (b + 1) * samples) ++stretch;
        out.mean[b] = sum / static_cast<double>(samples), out.stretch[b] = stretch;
    }
    return out;
}

// Means over blocks of `bins`; none where fewer than `least` of them are free.
struct Blocks {
    std::size_t bins{};
    std::vector<std::optional<double>> mean;
    std::vector<double>
        centre;  // of the free bins, in bins: a slope must not pass for a difference
    std::vector<std::size_t> stretch;
};

Blocks blocks_of(Bins const& of, std::size_t bins, std::size_t least) {
    Blocks out{bins, {}, {}, {}};
    for (std::size_t from = 0; from + bins <= of.mean.size(); from += bins) {
        double sum = 0, place = 0;
        std::size_t count = 0;
        for (std::size_t b = from; b < from + bins; ++b)
            if (of.free[b] != 0) sum += of.mean[b], place += static_cast<double>(b), ++count;
        bool const whole = count >= least && of.stretch[from] == of.stretch[from + bins - 1];
        out.mean.push_back(whole ? std::optional(sum / static_cast<double>(count)) : std::nullopt);
        out.centre.push_back(count > 0 ? place / static_cast<double>(count) : 0);
        out.stretch.push_back(of.stretch[from]);
    }
    return out;
}

// A block against the line through two others, `before` and `after` blocks away.
struct Comparison {
    double square{};  // of the difference seen
    double count{};   // how many independent ones it stands for
    std::array<double, 4> gain{};
};

std::optional<double> difference(Blocks const& b,
                                 std::size_t at,
                                 std::size_t before,
                                 std::size_t after) {
    if (at < before || at + after >= b.mean.size()) return std::nullopt;
    auto const &a = b.mean[at - before], &m = b.mean[at], &c = b.mean[at + after];
    if (!a || !m || !c || b.stretch[at - before] != b.stretch[at + after]) return std::nullopt;
    double const ta = b.centre[at - before], tm = b.centre[at], tc = b.centre[at + after];
    return ((tc - tm) * *a + (tm - ta) * *c) / (tc - ta) - *m;
}

// With bins of one second.
std::array<double, 4> unit_gain_of(std::size_t bins, std::size_t before, std::size_t after) {
    std::vector<double> w((before + after + 1) * bins, 0.0);
    double const each = 1 / static_cast<double>(bins), span = static_cast<double>(before + after);
    for (std::size_t b = 0; b < bins; ++b) {
        w[b] = static_cast<double>(after) / span * each;
        w[before * bins + b] = -each;
        w[(before + after) * bins + b] = static_cast<double>(before) / span * each;
    }
    auto const g = noise_gain(w, 1);
    return {g.white, g.flicker, g.walk, g.bend};
}

// The same few hundred distances come again in every run of an analyser.
std::array<double, 4> gain_of(std::size_t bins,
                              std::size_t before,
                              std::size_t after,
                              double bin_s) {
    thread_local std::map<std::array<std::size_t, 3>, std::array<double, 4>> known;
    constexpr std::size_t most = 20'000;
    if (known.size() > most) known.clear();
    auto const [place, fresh] = known.try_emplace({bins, before, after});
    if (fresh) place->second = unit_gain_of(bins, before, after);
    auto const& g = place->second;
    return {g[0], g[1], g[2] * bin_s, g[3] * bin_s * bin_s * bin_s};
}

// Neighbouring blocks: very many and alike, so they count as one with their mean square; a few that
// something unseen disturbs must not carry it.
std::optional<Comparison> neighbours(Blocks const& b, double bin_s) {
    std::vector<double> seen;
    for (std::size_t i = 1; i + 1 < b.mean.size(); ++i)
        if (auto const d = difference(b, i, 1, 1)) seen.push_back(*d);
    if (seen.size() < 3) return std::nullopt;
    double const usual = seen.size() >= 20 ? robust_sd(seen) : 0;
    double sum = 0;
    for (double const d : seen) sum += usual > 0 ? std::min(d * d, 12 * usual * usual) : d * d;
    auto const n = static_cast<double>(seen.size());
    return Comparison{sum / n, 0.5 * n, gain_of(b.bins, 1, 1, bin_s)};
}

void far_ones(Blocks const& b, double bin_s, std::vector<Comparison>& out) {
    std::size_t const n = b.mean.size();
    for (std::size_t h = 2; 2 * h < n; h *= 2) {
        // The block nearest to h away, where there is one between half and one and a half times h.
        auto const nearest = [&](std::size_t at, int step) -> std::size_t {
            for (std::size_t off = 0; off <= h / 2; ++off)
                for (std::size_t const away : {h + off, h - off}) {
                    auto const i =
                        static_cast<std::ptrdiff_t>(at) + step * static_cast<std::ptrdiff_t>(away);
                    if (i >= 0 && i < static_cast<std::ptrdiff_t>(n) &&
                        b.mean[static_cast<std::size_t>(i)])
                        return away;
                }
            return 0;
        };
        for (std::size_t at = 0; at < n; ++at) {
            if (!b.mean[at]) continue;
            std::size_t const before = nearest(at, -1), after = nearest(at, 1);
            if (before == 0 || after == 0) continue;
            auto const d = difference(b, at, before, after);
            if (!d) continue;
            // Neighbours at this distance share most of what they see.
            out.push_back(
                {*d * *d, 1 / static_cast<double>(h), gain_of(b.bins, before, after, bin_s)});
        }
    }
}

std::array<double, 4> likeliest(std::vector<Comparison> const& seen) {
    std::array<double, 4> size{};
    double count = 0;
    for (auto const& c : seen)
        for (std::size_t k = 0; k < 4; ++k)
            size[k] += 0.25 * c.count * c.square / c.gain[k], count += 0.25 * c.count;
    for (double& s : size) s /= count;
    constexpr int steps = 120;  // beyond them nothing moves by a hundredth (seen on invented runs)
    for (int step = 0; step < steps; ++step) {
        std::array<double, 4> up{}, down{};
        for (auto const& c : seen) {
            double v = 0;
            for (std::size_t k = 0; k < 4; ++k) v += size[k] * c.gain[k];
            if (!(v > 0)) continue;
            double const ratio = std::min(c.square / v, 12.0);
            for (std::size_t k = 0; k < 4; ++k)
                up[k] += c.count * c.gain[k] * ratio / v, down[k] += c.count * c.gain[k] / v;
        }
        for (std::size_t k = 0; k < 4; ++k)
            if (down[k] > 0) size[k] *= up[k] / down[k];
    }
    return size;
}

// Inverse of the Fisher information: a normal difference of variance v tells v to 2 v^2 a
// comparison. A kind that makes no comparison's variance to a thousandth is taken to be absent.
std::array<std::array<double, 4>, 4> covariance_of(std::vector<Comparison> const& seen,
                                                   std::array<double, 4> const& size) {
    std::array<double, 4> most{};
    Eigen::Matrix4d information = Eigen::Matrix4d::Zero();
    for (auto const& c : seen) {
        double v = 0;
        for (std::size_t k = 0; k < 4; ++k) v += size[k] * c.gain[k];
        if (!(v > 0)) continue;
        for (std::size_t a = 0; a < 4; ++a) {
            most[a] = std::max(most[a], size[a] * c.gain[a] / v);
            for (std::size_t b = 0; b < 4; ++b)
                information(static_cast<int>(a), static_cast<int>(b)) +=
                    0.5 * c.count * (c.gain[a] * size[a] / v) * (c.gain[b] * size[b] / v);
        }
    }
    // In parts of each size, so that the four are of one magnitude.
    std::vector<int> there;
    for (int k = 0; k < 4; ++k)
        if (most[static_cast<std::size_t>(k)] > 1e-3) there.push_back(k);
    Eigen::MatrixXd part(there.size(), there.size());
    for (std::size_t a = 0; a < there.size(); ++a)
        for (std::size_t b = 0; b < there.size(); ++b)
            part(static_cast<Eigen::Index>(a), static_cast<Eigen::Index>(b)) =
                information(there[a], there[b]);
    part.diagonal().array() += 0.02;  // nobody knows less of a size than its order of magnitude
    Eigen::MatrixXd const inverse =
        part.ldlt().solve(Eigen::MatrixXd::Identity(part.rows(), part.cols()));
    std::array<std::array<double, 4>, 4> out{};
    for (std::size_t a = 0; a < there.size(); ++a)
        for (std::size_t b = 0; b < there.size(); ++b) {
            auto const i = static_cast<std::size_t>(there[a]),
                       j = static_cast<std::size_t>(there[b]);
            out[i][j] = size[i] * size[j] *
                        inverse(static_cast<Eigen::Index>(a), static_cast<Eigen::Index>(b));
        }
    return out;
}

}  // namespace

NoiseSpectrum noise_spectrum(std::span<double const> y,
                             std::vector<bool> const& free,
                             double interval_s,
                             std::span<std::size_t const> breaks) {
    NoiseSpectrum out;
    std::size_t const samples = samples_per_bin(interval_s);
    double const bin_s = static_cast<double>(samples) * interval_s;
    auto const bins = bins_of(y, free, samples, breaks);
    std::vector<Comparison> seen;
    Blocks widest;
    for (std::size_t size = 1; static_cast<double>(size) * bin_s < 3; size *= 2) {
        auto const near = neighbours(blocks_of(bins, size, size), bin_s);
        if (near) seen.push_back(*near);
        auto blocks = blocks_of(bins, size, size / 2 + 1);
        auto const held = std::count_if(
            blocks.mean.begin(), blocks.mean.end(), [](auto const& m) { return m.has_value(); });
        if (held >= 8) widest = std::move(blocks);
    }
    if (seen.empty()) return out;
    if (widest.bins > 0) far_ones(widest, bin_s, seen);
    std::erase_if(seen, [](Comparison const& c) { return !(c.gain[0] > 0); });
    auto const size = likeliest(seen);
    return {bin_s, size[0], size[1], size[2], size[3], covariance_of(seen, size)};
}

}  // namespace gw::trace
