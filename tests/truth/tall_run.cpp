#include "truth/tall_run.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "truth/shapes.hpp"

namespace gw::truth {

namespace {

constexpr double duration = 300, tallest = 1000;  // s; in noises

void stand(std::vector<double>& y,
           double dt,
           Run& run,
           std::function<double(double)> const& shape,
           Truth p,
           double height) {
    p.area = height / p.height, p.height = height;
    for (std::size_t i = 0; i < y.size(); ++i) y[i] += p.area * shape(static_cast<double>(i) * dt);
    run.peaks.push_back(p);
}

}  // namespace

TallRun tall_run(TallFamily const& f, std::uint64_t number) {
    Dice dice(0x7a11000u + 104729 * number);
    TallRun out;
    auto& run = out.run;
    run.white = 1;
    constexpr std::array<double, 6> rates{10, 20, 25, 40, 50, 100};
    double const rate = f.resolution > 0 ? rates[static_cast<std::size_t>(dice.between(1, 6))]
                                         : rates[static_cast<std::size_t>(dice.between(0, 6))],
                 dt = 1 / rate;
    std::vector<double> y(static_cast<std::size_t>(duration * rate));
    double end = 14;
    for (;;) {
        double const wanted = std::exp(dice.between(std::log(f.resolution > 0 ? 0.8 : 0.5),
                                                    std::log(f.resolution > 0 ? 6 : 12)));
        double const tail = dice.between(0.05, f.form == Form::tanks ? 1.2 : 1.5);
        double const sigma = wanted / 2.3548, reach = (7 + 8 * tail) * sigma;
        double const at = end + 5 * sigma + 1 + tail * sigma;
        auto const here = measured(density(f.form, at, sigma, tail), at, sigma);
        double const apart = f.resolution * 2 * here.width_half_s / 1.18;
        if (at + apart + reach > duration - 6) break;
        double const height = tallest * dice.between(0.95, 1.05);
        bool const small_first = dice.between(0, 1) < 0.5;
        stand(y,
              dt,
              run,
              density(f.form, at, sigma, tail),
              here,
              f.resolution > 0 && small_first ? height / f.ratio : height);
        if (f.resolution > 0) {
            auto there = here;
            there.apex_s += apart;
            stand(y,
                  dt,
                  run,
                  density(f.form, at + apart, sigma, tail),
                  there,
                  small_first ? height : height / f.ratio);
        }
        end = at + apart + reach + dice.between(0.5, 6);
    }
    for (auto& p : run.peaks) p.resolution = f.resolution > 0 ? f.resolution : 1e9;
    double const level = dice.between(-50, 200), drift = dice.between(-0.5, 0.5),
                 period = dice.between(150, 500), phase = dice.between(0, 2 * std::numbers::pi),
                 wander = f.wander * dice.between(0.125, 1);
    for (std::size_t i = 0; i < y.size(); ++i) {
        double const t = static_cast<double>(i) * dt;
        y[i] += level + drift * t + wander * std::sin(2 * std::numbers::pi * t / period + phase);
    }
    for (int k = 0; k < f.kicks; ++k) {
        double const at = dice.between(3, duration - 10), sign = dice.between(0, 1) < 0.5 ? -1 : 1,
                     height = sign * std::exp(dice.between(std::log(5), std::log(100))),
                     decay = dice.between(0.05, 0.2), step = dice.between(-6, 6);
        out.events.push_back({at, "turn"});
        for (std::size_t i = 0; i < y.size(); ++i)
            if (double const after = static_cast<double>(i) * dt - at; after >= 0)
                y[i] += height * std::exp(-after / decay) + step;
    }
    std::sort(out.events.begin(), out.events.end(), [](auto const& a, auto const& b) {
        return a.at_s < b.at_s;
    });
    std::vector<float> signal;
    for (double const v : y) signal.push_back(static_cast<float>(v + dice.normal()));
    run.trace.source = f.name;
    run.trace.interval_s = dt;
    run.trace.signals = {std::move(signal)};
    return out;
}

Tally tally_of(TallFamily const& family, std::uint64_t first, int runs) {
    Tally out;
    for (int k = 0; k < runs; ++k) {
        auto const made = tall_run(family, first + static_cast<std::uint64_t>(k));
        trace::PeakOptions options;
        options.events = made.events;
        add(out, made.run, trace::find_peaks(made.run.trace, 1, options));
    }
    return out;
}

std::vector<TallFamily> tall_families() {
    return {{"dense"},
            {"dense, wander of 40", Form::modified, 40},
            {"dense, gamma densities", Form::tanks},
            {"pairs at 1.0", Form::modified, 0, 1.0},
            {"pairs at 0.85", Form::modified, 0, 0.85},
            {"pairs at 0.7", Form::modified, 0, 0.7},
            {"pairs at 1.0, gamma densities", Form::tanks, 0, 1.0},
            {"pairs at 0.85, gamma densities", Form::tanks, 0, 0.85},
            {"pairs at 0.85, inverse Gaussian", Form::passage, 0, 0.85},
            {"kicks at five events", Form::modified, 0, 0, 10, 5}};
}

}  // namespace gw::truth
