// Budget, composition prepared: GERG-2008 density at T, p in 2 us for 11 components, 6 us for 21;
// DETAIL 1.5 us. Baseline: the equations as printed (gas/plain_wide_range_for_tests.hpp) with
// Newton's step from the ideal gas. States walk round 64 points of a pipeline, 270 to 320 K and 0.1
// to 12 MPa.
#include <benchmark/benchmark.h>

#include <array>

#include "gas/plain_wide_range_for_tests.hpp"
#include "perf/gas/gases.hpp"

namespace gw::gas::perf {
namespace {

struct Point {
    double T, p;
};
std::array<Point, 64> points() {
    std::array<Point, 64> out{};
    for (std::size_t i = 0; i < out.size(); ++i)
        out[i] = {270 + 50 * static_cast<double>((i * 37) % 64) / 63,
                  100 + 11900 * static_cast<double>((i * 23) % 64) / 63};
    return out;
}

void density(benchmark::State& state, Composition const& gas, WideRangeEquation equation) {
    auto const ready = *prepared(gas, equation);
    auto const at = points();
    std::size_t i = 0;
    for (auto _ : state) {
        auto const& point = at[i++ % at.size()];
        benchmark::DoNotOptimize(molar_density(ready, kelvin(point.T), kilopascal(point.p)));
    }
}
BENCHMARK_CAPTURE(density, gerg_11, eleven(), WideRangeEquation::gerg2008);
BENCHMARK_CAPTURE(density, gerg_21, twenty_one(), WideRangeEquation::gerg2008);
BENCHMARK_CAPTURE(density, detail_11, eleven(), WideRangeEquation::detail);
BENCHMARK_CAPTURE(density, detail_21, twenty_one(), WideRangeEquation::detail);

void all_properties(benchmark::State& state, Composition const& gas, WideRangeEquation equation) {
    auto const ready = *prepared(gas, equation);
    auto const at = points();
    std::size_t i = 0;
    for (auto _ : state) {
        auto const& point = at[i++ % at.size()];
        benchmark::DoNotOptimize(fluid_state(ready, kelvin(point.T), kilopascal(point.p)));
    }
}
BENCHMARK_CAPTURE(all_properties, gerg_11, eleven(), WideRangeEquation::gerg2008);
BENCHMARK_CAPTURE(all_properties, detail_11, eleven(), WideRangeEquation::detail);

void set_up(benchmark::State& state, Composition const& gas, WideRangeEquation equation) {
    for (auto _ : state) benchmark::DoNotOptimize(prepared(gas, equation));
}
BENCHMARK_CAPTURE(set_up, gerg_11, eleven(), WideRangeEquation::gerg2008);
BENCHMARK_CAPTURE(set_up, gerg_21, twenty_one(), WideRangeEquation::gerg2008);
BENCHMARK_CAPTURE(set_up, detail_11, eleven(), WideRangeEquation::detail);
BENCHMARK_CAPTURE(set_up, detail_21, twenty_one(), WideRangeEquation::detail);

void cold_density_with_all_roots(
    benchmark::State& state) {  // below 1.1 times the reducing temperature
    auto const ready = *prepared(eleven(), WideRangeEquation::gerg2008);
    for (auto _ : state)
        benchmark::DoNotOptimize(molar_density(ready, kelvin(200), kilopascal(1000)));
}
BENCHMARK(cold_density_with_all_roots);

void baseline_gerg(benchmark::State& state, Composition const& gas) {
    auto const ready = *prepared(gas, WideRangeEquation::gerg2008);
    auto const& m = ready.mixture;
    auto const reducing = plain::gerg_reducing(m.x);
    auto const at = points();
    std::size_t i = 0;
    for (auto _ : state) {
        auto const& point = at[i++ % at.size()];
        benchmark::DoNotOptimize(
            plain::density([&](double rho) { return plain::gerg(m.x, reducing, point.T, rho); },
                           m.R,
                           point.T,
                           point.p));
    }
}
BENCHMARK_CAPTURE(baseline_gerg, 11, eleven());
BENCHMARK_CAPTURE(baseline_gerg, 21, twenty_one());

void baseline_detail(benchmark::State& state, Composition const& gas) {
    auto const ready = *prepared(gas, WideRangeEquation::detail);
    auto const& m = ready.mixture;
    auto const at = points();
    std::size_t i = 0;
    for (auto _ : state) {
        auto const& point = at[i++ % at.size()];
        benchmark::DoNotOptimize(plain::density(
            [&](double rho) { return plain::detail(m.x, point.T, rho); }, m.R, point.T, point.p));
    }
}
BENCHMARK_CAPTURE(baseline_detail, 11, eleven());

}  // namespace
}  // namespace gw::gas::perf
