// Budget, 11 components, Peng-Robinson: a dew point 50 us from its neighbour (warm), 300 us from
// nothing with both branches (cold); the whole envelope 10 ms. Baseline: successive substitution
// with Newton's step in temperature, as textbooks print it, from Wilson's estimate.
#include <benchmark/benchmark.h>

#include <cmath>
#include <vector>

#include "perf/gas/gases.hpp"

namespace gw::gas::perf {
namespace {

CubicGas gas() { return *cubic_gas(eleven(), CubicEquation::peng_robinson); }

void whole_envelope(benchmark::State& state) {
    auto const g = gas();
    std::size_t points = 0;
    for (auto _ : state) {
        auto const line = phase_envelope(g.mixture, g.z);
        points = line->points().size();
        benchmark::DoNotOptimize(line);
    }
    state.counters["points"] = static_cast<double>(points);
}
BENCHMARK(whole_envelope)->Unit(benchmark::kMicrosecond);

void dew_points_cold(benchmark::State& state) {
    auto const g = gas();
    double const p = 1e3 * static_cast<double>(state.range(0));
    std::size_t branches = 0;
    for (auto _ : state) {
        auto const points = dew_points(g.mixture, g.z, p);
        branches = points->size();
        benchmark::DoNotOptimize(points);
    }
    state.counters["branches"] = static_cast<double>(branches);
}
BENCHMARK(dew_points_cold)->Arg(2000)->Arg(4000)->Arg(7000)->Unit(benchmark::kMicrosecond);

void dew_point_warm(benchmark::State& state) {  // 5 kPa to and fro
    auto const g = gas();
    auto known = (*dew_points(g.mixture, g.z, 4e6)).front();
    double p = 4e6;
    for (auto _ : state) {
        p = p > 4e6 ? 3.995e6 : 4.005e6;
        known = *dew_point_near(g.mixture, g.z, p, known);
        benchmark::DoNotOptimize(known.at.T);
    }
}
BENCHMARK(dew_point_warm)->Unit(benchmark::kMicrosecond);

void baseline_substitution(benchmark::State& state) {
    auto const g = gas();
    std::size_t const n = g.z.size();
    double const p = 4e6;
    double T = 0;
    int rounds = 0;
    for (auto _ : state) {
        std::vector<double> ln_K(n), w(n);
        Fugacity feed, liquid;
        double low = 100, high = 600;
        for (int i = 0; i < 40; ++i) {
            T = 0.5 * (low + high);
            g.mixture.wilson_ln_K(T, p, ln_K);
            double sum = 0;
            for (std::size_t i2 = 0; i2 < n; ++i2) sum += g.z[i2] * std::exp(-ln_K[i2]);
            (sum > 1 ? low : high) = T;
        }
        for (std::size_t i = 0; i < n; ++i) w[i] = g.z[i] * std::exp(-ln_K[i]);
        for (rounds = 1; rounds < 1000; ++rounds) {
            g.mixture.fugacity(g.z, T, p, WithDerivatives::of_state, feed);
            g.mixture.fugacity(w, T, p, WithDerivatives::of_state, liquid);
            double sum = 0, slope = 0;
            for (std::size_t i = 0; i < n; ++i) {
                w[i] = g.z[i] * std::exp(feed.ln_phi[i] - liquid.ln_phi[i]);
                sum += w[i];
                slope += w[i] * (feed.d_T[i] - liquid.d_T[i]);
            }
            double const step = -std::log(sum) * sum / slope;
            T += step;
            if (std::abs(step) < 1e-7) break;
        }
        benchmark::DoNotOptimize(T);
    }
    state.counters["rounds"] = rounds;
    state.counters["T"] = T;
}
BENCHMARK(baseline_substitution)->Unit(benchmark::kMicrosecond);

}  // namespace
}  // namespace gw::gas::perf
