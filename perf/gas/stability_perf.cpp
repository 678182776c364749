// What the phase check of `gas density` costs, beside the density it guards.
#include <benchmark/benchmark.h>

#include "perf/gas/gases.hpp"

namespace gw::gas::perf {
namespace {

void phase_check(benchmark::State& state, double T, double kpa) {
    auto const gas = *cubic_gas(eleven(), CubicEquation::peng_robinson);
    for (auto _ : state)
        benchmark::DoNotOptimize(phase_stability(gas.mixture, gas.z, kelvin(T), kilopascal(kpa)));
}
BENCHMARK_CAPTURE(phase_check, warm_gas, 288.15, 6000);
BENCHMARK_CAPTURE(phase_check, split, 240, 3000);
BENCHMARK_CAPTURE(phase_check, near_critical, 205, 6500);

void one_fugacity(benchmark::State& state) {
    auto const gas = *cubic_gas(eleven(), CubicEquation::peng_robinson);
    Fugacity out;
    for (auto _ : state) {
        gas.mixture.fugacity(gas.z, 288.15, 6e6, WithDerivatives::no, out);
        benchmark::DoNotOptimize(out.Z);
    }
}
BENCHMARK(one_fugacity);

}  // namespace
}  // namespace gw::gas::perf
