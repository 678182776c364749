// Budget: calorific value, density and Wobbe index with u, full covariance, 11 components: a
// million a second. Baseline: the GUM's numerical recipe, each amount moved in turn and the
// properties computed again, with the full covariance. memory_pass: reading the covariance once.
#include <benchmark/benchmark.h>

#include <cmath>

#include "perf/gas/gases.hpp"

namespace gw::gas::perf {
namespace {

void iso6976_with_u(benchmark::State& state) {
    auto const gas = eleven_with_covariance();
    for (auto _ : state) benchmark::DoNotOptimize(iso6976(gas));
}
BENCHMARK(iso6976_with_u);

void gross_cv_gradient(benchmark::State& state) {
    auto const gas = eleven_with_covariance();
    Iso6976Options const options;
    for (auto _ : state) benchmark::DoNotOptimize(gross_cv_volume_gradient(gas, options));
}
BENCHMARK(gross_cv_gradient);

void baseline_numerical_gradient(benchmark::State& state) {
    auto const gas = eleven_with_covariance();
    auto plain = gas;
    plain.V = {};
    std::size_t const n = gas.x.size();
    for (auto _ : state) {
        auto const at = iso6976(plain);
        std::vector<double> cv(n), density(n), wobbe(n);
        for (std::size_t i = 0; i < n; ++i) {
            auto moved = plain;
            double const h = 1e-6;
            moved.x[i] += h;
            auto const there = iso6976(moved);
            cv[i] = (there->real.gross_cv_volume.value - at->real.gross_cv_volume.value) / h;
            density[i] = (there->real.density.value - at->real.density.value) / h;
            wobbe[i] = (there->real.gross_wobbe.value - at->real.gross_wobbe.value) / h;
        }
        benchmark::DoNotOptimize(std::sqrt(quadratic_form(gas.V, cv)) +
                                 std::sqrt(quadratic_form(gas.V, density)) +
                                 std::sqrt(quadratic_form(gas.V, wobbe)));
    }
}
BENCHMARK(baseline_numerical_gradient);

void baseline_memory_pass(benchmark::State& state) {
    auto const gas = eleven_with_covariance();
    for (auto _ : state) {
        double sum = 0;
        for (double const v : gas.V.cells()) sum += v;
        benchmark::DoNotOptimize(sum);
    }
}
BENCHMARK(baseline_memory_pass);

}  // namespace
}  // namespace gw::gas::perf
