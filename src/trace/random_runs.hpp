#pragma once
/// For the tests of this folder: random runs of known truth, and how an answer scores against it.
#include <algorithm>
#include <cmath>
#include <functional>
#include <vector>

#include "base/random.hpp"
#include "trace/peaks.hpp"
#include "trace/synthesis.hpp"

namespace gw::trace {

struct RunKind {
    double rate_hz = 50;
    double wander = 0, flicker = 0;  ///< up to so many times the white noise
    int kicks = 0;                   ///< at random times clear of peaks
    bool lagged = false;             ///< kicks rounded by a lag
    bool events_known = false;
    bool passages = false;            ///< peaks of column shape in place of modified Gaussians
    double least_gap = 1.5, gap = 8;  ///< between neighbours, in widths
};

struct TruePeak {
    double apex_s{}, height{}, width_half_s{}, area{};
};

struct RandomRun {
    Trace trace;
    PeakOptions options;
    std::vector<TruePeak> truth;
    double white_noise{}, drift_per_s{};
};

/// Apex, height and width of a shape, by walking over it in steps of `step_s`.
inline TruePeak true_peak(std::function<double(double)> const& shape,
                          double from,
                          double to,
                          double step_s,
                          double area) {
    TruePeak out;
    out.area = area;
    for (double t = from; t < to; t += step_s)
        if (double const v = shape(t); v > out.height) out.height = v, out.apex_s = t;
    double left = out.apex_s, right = out.apex_s;
    while (shape(left) > 0.5 * out.height) left -= step_s;
    while (shape(right) > 0.5 * out.height) right += step_s;
    out.width_half_s = right - left;
    return out;
}

inline RandomRun random_run(RunKind const& kind, std::uint64_t seed, std::uint64_t number) {
    RandomStream random(seed, number);
    auto const uniform = [&](double low, double high) {
        return low + (high - low) * random.uniform();
    };
    RandomRun run;
    SyntheticDetector d;
    d.white_noise = run.white_noise = std::pow(10, uniform(-3, -1.3));
    d.offset = uniform(-20, 20);
    d.drift_per_s = run.drift_per_s = uniform(-0.002, 0.002);
    d.wander = kind.wander * uniform(0, 1) * d.white_noise;
    d.wander_period_s = uniform(150, 500);
    d.flicker_noise = kind.flicker * uniform(0, 1) * d.white_noise;
    double t = uniform(14, 25), width = uniform(0.5, 1.2);
    double const tail = uniform(0.05, 1.2);
    for (int n = static_cast<int>(uniform(4, 12)); n > 0 && t < 215; --n) {
        double const height = std::min(800.0, d.white_noise * std::pow(10, uniform(0.9, 5)));
        double full = width;
        if (kind.passages) {
            double const sigma = width / 2.3548, plates = std::pow(t / sigma, 2);
            PassagePeak const p{height * sigma * 2.5066, t, plates};
            d.passages.push_back(p);
            run.truth.push_back(true_peak([&](double at) { return passage_signal(p, at); },
                                          t - 4 * sigma,
                                          t + 4 * sigma,
                                          0.001 * sigma,
                                          p.area));
        } else {
            double const sigma = width / 2.3548 * uniform(0.9, 1.1),
                         tau = sigma * tail * uniform(0.8, 1.2);
            full = width * std::sqrt(1 + tail * tail);
            Emg const p{height * sigma * 2.5066 * std::sqrt(1 + tail * tail), t, sigma, tau};
            d.peaks.push_back(p);
            run.truth.push_back(true_peak([&](double at) { return value(p, at); },
                                          t - 3 * sigma,
                                          t + 3 * sigma + 3 * tau,
                                          0.002 * sigma,
                                          p.area));
        }
        width *= uniform(1, 1.25);
        t += full * (uniform(kind.least_gap, kind.gap) + 1);
    }
    for (int k = 0; k < kind.kicks; ++k) {
        SyntheticKick kick;
        bool clear = false;
        for (int attempt = 0; attempt < 300 && !clear; ++attempt) {
            kick.at_s = uniform(2, 235);
            kick.decay_s = uniform(0.1, 1.2);
            if (kind.lagged) kick.rise_s = 0.15, kick.decay_s = uniform(0.5, 1);
            clear = std::all_of(run.truth.begin(), run.truth.end(), [&](TruePeak const& p) {
                return kick.at_s < p.apex_s - 2.5 * p.width_half_s - 4 * kick.decay_s ||
                       kick.at_s > p.apex_s + 5 * p.width_half_s;
            });
            for (auto const& other : d.kicks) clear = clear && std::abs(other.at_s - kick.at_s) > 4;
        }
        if (!clear) continue;
        kick.height =
            (random.uniform() < 0.5 ? -1 : 1) * d.white_noise * std::pow(10, uniform(1.3, 3));
        kick.step = random.uniform() < 0.3 ? d.white_noise * uniform(-20, 20) : 0;
        d.kicks.push_back(kick);
        if (kind.events_known) run.options.events.push_back({kick.at_s, "valve"});
    }
    SynthesisOptions o;
    o.interval_s = 1 / kind.rate_hz;
    o.duration_s = 240;
    o.seed = seed;
    o.run = number;
    run.trace = synthesise({d}, o);
    return run;
}

struct Score {
    int expected = 0, missed = 0, invented = 0;
    std::vector<double> area_error,
        apex_error;  ///< where S/N > 300 and resolution >= 1.5: relative; s
    std::vector<double> pull, pull_overlapped;  ///< area error over its stated uncertainty
    std::vector<double> noise_ratio;            ///< stated over true white noise
};

inline void add_score(Score& score, RandomRun const& run, DetectorPeaks const& got) {
    std::vector<bool> used(got.peaks.size(), false);
    score.noise_ratio.push_back(got.noise.rms / run.white_noise);
    for (std::size_t k = 0; k < run.truth.size(); ++k) {
        auto const& p = run.truth[k];
        std::size_t best = got.peaks.size();
        for (std::size_t j = 0; j < got.peaks.size(); ++j) {
            double const away = std::abs(got.peaks[j].apex_s - p.apex_s);
            if (!used[j] && away < 0.4 * p.width_half_s &&
                (best == got.peaks.size() || away < std::abs(got.peaks[best].apex_s - p.apex_s)))
                best = j;
        }
        bool const counts = p.height > 5 * run.white_noise;
        score.expected += counts;
        if (best == got.peaks.size()) {
            score.missed += counts;
            continue;
        }
        used[best] = true;
        double resolution = 1e9;
        auto const to = [&](TruePeak const& other) {
            resolution = std::min(
                resolution,
                1.18 * std::abs(p.apex_s - other.apex_s) / (p.width_half_s + other.width_half_s));
        };
        if (k > 0) to(run.truth[k - 1]);
        if (k + 1 < run.truth.size()) to(run.truth[k + 1]);
        double const error = got.peaks[best].area - p.area;
        (resolution > 3 ? score.pull : score.pull_overlapped)
            .push_back(error / got.peaks[best].area_u);
        if (p.height > 300 * run.white_noise && resolution >= 1.5) {
            score.area_error.push_back(std::abs(error / p.area));
            score.apex_error.push_back(std::abs(got.peaks[best].apex_s - p.apex_s));
        }
    }
    score.invented += static_cast<int>(std::count(used.begin(), used.end(), false));
}

inline Score scored(RunKind const& kind, std::uint64_t seed, int runs) {
    Score score;
    for (int n = 0; n < runs; ++n) {
        auto const run = random_run(kind, seed, static_cast<std::uint64_t>(n));
        add_score(score, run, find_peaks(run.trace, 1, run.options));
    }
    return score;
}

inline double quantile(std::vector<double> v, double share) {
    if (v.empty()) return 0;
    std::sort(v.begin(), v.end());
    return v[static_cast<std::size_t>(share * static_cast<double>(v.size() - 1))];
}

inline double root_mean_square(std::vector<double> const& v, double largest) {
    double sum = 0;
    for (double const x : v) sum += std::pow(std::clamp(x, -largest, largest), 2);
    return std::sqrt(sum / static_cast<double>(std::max<std::size_t>(1, v.size())));
}

}  // namespace gw::trace
