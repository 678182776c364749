#include "truth/invented_run.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>

#include "truth/shapes.hpp"

namespace gw::truth {

namespace {

using std::numbers::pi;

void transform(std::vector<std::complex<double>>& v, bool back) {
    std::size_t const n = v.size();
    for (std::size_t i = 1, j = 0; i < n; ++i) {
        std::size_t bit = n >> 1;
        for (; j & bit; bit >>= 1) j ^= bit;
        j ^= bit;
        if (i < j) std::swap(v[i], v[j]);
    }
    for (std::size_t length = 2; length <= n; length <<= 1) {
        double const angle = 2 * pi / static_cast<double>(length) * (back ? -1 : 1);
        for (std::size_t i = 0; i < n; i += length)
            for (std::size_t k = 0; k < length / 2; ++k) {
                auto const w = std::polar(1.0, angle * static_cast<double>(k));
                auto const a = v[i + k], b = v[i + k + length / 2] * w;
                v[i + k] = a + b, v[i + k + length / 2] = a - b;
            }
    }
}

// 1/f noise: white noise through the half integral of a difference (fractional differencing of
// order one half), begun long before the run.
std::vector<double> flicker(std::size_t samples, double innovation, Dice& dice) {
    std::size_t n = 1;
    while (n < 8 * samples) n <<= 1;
    std::vector<std::complex<double>> kernel(n), noise(n);
    double h = 1;
    for (std::size_t k = 0; k < n / 2; ++k) {
        if (k > 0) h *= (static_cast<double>(k) - 0.5) / static_cast<double>(k);
        kernel[k] = h;
        noise[k] = innovation * dice.normal();
    }
    transform(kernel, false), transform(noise, false);
    for (std::size_t k = 0; k < n; ++k) noise[k] *= kernel[k];
    transform(noise, true);
    std::vector<double> out(samples);
    for (std::size_t i = 0; i < samples; ++i)
        out[i] = noise[n / 2 - samples + i].real() / static_cast<double>(n);
    return out;
}

}  // namespace

Run invented_run(Family const& f, std::uint64_t number) {
    Dice dice(0x5eed0000u + 7919 * number);
    Run run;
    double const dt = 1 / f.rate_hz, duration = 420;
    auto const n = static_cast<std::size_t>(std::lround(duration / dt));
    run.white = std::pow(10, dice.between(-3.5, -1.5));
    double const offset = dice.between(-30, 30), drift = 0.05 * run.white * dice.between(-1, 1);
    std::vector<double> y(n);
    double const period = dice.between(200, 500), phase = dice.between(0, 2 * pi),
                 wander = f.wander * run.white * dice.between(0.3, 1);
    for (std::size_t i = 0; i < n; ++i) {
        double const t = static_cast<double>(i) * dt;
        y[i] = offset + drift * t + wander * std::sin(2 * pi * t / period + phase);
    }
    // Half widths grow along the run from the narrowest this rate can show to the widest.
    double const narrowest = std::max(0.4, 2.5 * dt), tail = dice.between(0.05, 1.2);
    double const grow = std::pow(f.widest_s / narrowest, 1.0 / dice.between(8, 12));
    double width = narrowest * dice.between(1, 1.5), t = dice.between(12, 20) + 3 * width;
    while (t + 5 * width < duration && width <= f.widest_s) {
        double const sigma = width / 2.3548 / std::sqrt(1 + 0.6 * tail * tail);
        auto const shape = density(f.form, t, sigma, tail * dice.between(0.85, 1.15));
        auto p = measured(shape, t, sigma);
        double wanted = run.white * std::exp(dice.between(std::log(f.least_height),
                                                          std::log(f.largest_height)));
        if (!run.peaks.empty())
            wanted = std::clamp(wanted,
                                run.peaks.back().height / f.largest_ratio,
                                run.peaks.back().height * f.largest_ratio);
        p.area = wanted / p.height, p.height = wanted;
        double const reach = 12 * sigma + 45 * tail * sigma;
        auto const from = static_cast<std::size_t>(std::max(0.0, (t - 12 * sigma) / dt)),
                   to = std::min(n, static_cast<std::size_t>((t + reach) / dt));
        for (std::size_t i = from; i < to; ++i) y[i] += p.area * shape(static_cast<double>(i) * dt);
        run.peaks.push_back(p);
        double const before = width;
        width *= std::pow(grow, dice.between(0.6, 1.4));
        t += 0.5 * (before + width) *
             (f.closest + std::exp(dice.between(std::log(0.05), std::log(8.0))));
    }
    for (std::size_t k = 0; k + 1 < run.peaks.size(); ++k) {
        auto &a = run.peaks[k], &b = run.peaks[k + 1];
        double const between = 1.18 * (b.apex_s - a.apex_s) / (a.width_half_s + b.width_half_s);
        a.resolution = std::min(a.resolution, between),
        b.resolution = std::min(b.resolution, between);
    }
    auto const slow =
        f.flicker_corner_hz > 0
            ? flicker(n, run.white * std::sqrt(2 * pi * dt * f.flicker_corner_hz), dice)
            : std::vector<double>(n, 0.0);
    double const walk_step = run.white * 2 * pi * f.walk_corner_hz * dt,
                 grain = f.grain * run.white;
    double walk = 0;
    std::vector<float> signal(n);
    for (std::size_t i = 0; i < n; ++i) {
        walk += walk_step * dice.normal();
        double v = y[i] + slow[i] + walk + run.white * dice.normal();
        if (grain > 0) v = grain * std::round(v / grain);
        signal[i] = static_cast<float>(v);
    }
    run.trace.source = f.name;
    run.trace.interval_s = dt;
    run.trace.signals = {std::move(signal)};
    return run;
}

void add(Tally& tally, Run const& run, trace::DetectorPeaks const& got) {
    std::vector<bool> used(got.peaks.size(), false);
    for (auto const& p : run.peaks) {
        std::size_t best = got.peaks.size();
        double least = 0.4 * p.width_half_s;
        for (std::size_t j = 0; j < got.peaks.size(); ++j)
            if (double const away = std::abs(got.peaks[j].apex_s - p.apex_s);
                !used[j] && away < least)
                least = away, best = j;
        ++tally.expected;
        if (best == got.peaks.size()) {
            ++tally.missed;
            continue;
        }
        used[best] = true;
        auto const& peak = got.peaks[best];
        tally.seen.push_back({peak.area - p.area, peak.area_u, p, p.height / run.white, peak});
    }
    tally.invented += static_cast<int>(std::count(used.begin(), used.end(), false));
}

Tally tally_of(Family const& family, std::uint64_t first, int runs) {
    Tally out;
    for (int k = 0; k < runs; ++k) {
        auto const run = invented_run(family, first + static_cast<std::uint64_t>(k));
        add(out, run, trace::find_peaks(run.trace, 1));
    }
    return out;
}

std::size_t Tally::count(std::function<bool(Seen const&)> const& which) const {
    return static_cast<std::size_t>(std::count_if(seen.begin(), seen.end(), which));
}

double Tally::covered(std::function<bool(Seen const&)> const& which) const {
    double inside = 0, all = 0;
    for (auto const& s : seen)
        if (which(s)) all += 1, inside += std::abs(s.error) < 1.96 * s.u ? 1 : 0;
    return all > 0 ? inside / all : 1;
}

double Tally::error(double share, std::function<bool(Seen const&)> const& which) const {
    std::vector<double> v;
    for (auto const& s : seen)
        if (which(s)) v.push_back(std::abs(s.error / s.truth.area));
    if (v.empty()) return 0;
    std::sort(v.begin(), v.end());
    return v[static_cast<std::size_t>(share * static_cast<double>(v.size() - 1))];
}

std::vector<Family> families() {
    std::vector<Family> out;
    auto const family = [&](char const* name, auto&& change) {
        Family f;
        f.name = name;
        change(f);
        out.push_back(std::move(f));
    };
    // Neighbours down to a resolution of 1 and thirty to one: beyond that small ones vanish under
    // large ones without a trace, and nobody could say so.
    auto const close = [](Family& f) {
        f.closest = 1.7, f.largest_ratio = 30, f.least_height = 30;
    };
    family("white", [](Family&) {});
    family("white, 5 Hz", [](Family& f) { f.rate_hz = 5; });
    family("white, 20 Hz", [](Family& f) { f.rate_hz = 20; });
    family("white, 100 Hz", [](Family& f) { f.rate_hz = 100; });
    family("flicker from 0.1 Hz", [](Family& f) { f.flicker_corner_hz = 0.1; });
    family("flicker from 1 Hz", [](Family& f) { f.flicker_corner_hz = 1; });
    family("flicker from 5 Hz", [](Family& f) { f.flicker_corner_hz = 5; });
    family("flicker from 1 Hz, 5 Hz", [](Family& f) { f.flicker_corner_hz = 1, f.rate_hz = 5; });
    family("walk from 0.03 Hz", [](Family& f) { f.walk_corner_hz = 0.03; });
    family("walk from 0.2 Hz", [](Family& f) { f.walk_corner_hz = 0.2; });
    family("slow wander of 30", [](Family& f) { f.wander = 30; });
    family("wander and flicker", [](Family& f) { f.wander = 30, f.flicker_corner_hz = 0.5; });
    family("grain of 1", [](Family& f) { f.grain = 1; });
    family("grain of 4", [](Family& f) { f.grain = 4; });
    family("tanks in series", [](Family& f) { f.form = Form::tanks; });
    family("passage", [](Family& f) { f.form = Form::passage; });
    family("close pairs", [&](Family& f) { close(f); });
    family("close pairs, flicker", [&](Family& f) { close(f), f.flicker_corner_hz = 1; });
    family("close pairs, tanks", [&](Family& f) { close(f), f.form = Form::tanks; });
    family("close pairs, passage", [&](Family& f) { close(f), f.form = Form::passage; });
    return out;
}

}  // namespace gw::truth
