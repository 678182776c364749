// Budget: a 240 s run of 17 components through three columns in 50 ms on one core, goal 5 ms, at an
// area error below 0.05 %; the retiming optimum in 1 s. Baseline: the slow model of the tests
// (fixed cells, Crank-Nicolson, one time step for all) for one component, on a grid of one cell a
// plate.
#include <benchmark/benchmark.h>

#include "oven/oven_for_tests.hpp"
#include "oven/retime.hpp"
#include "oven/slow_oven_for_tests.hpp"

namespace gw::oven::perf {
namespace {

struct Case {
    Oven oven;
    std::vector<double> amounts;
};

Case of(char const* method) {
    Case out{oven_of_text(file_text(method)).value(), {}};
    auto const text = file_text("tests/contract/files/oven_gas.json");
    auto const gas = gas::read_composition(parse_json(text, "gas").value().root()).value();
    out.amounts = amounts_of(gas, out.oven, {}).value();
    return out;
}

void simulate_series(benchmark::State& state) {
    auto const c = of("tests/contract/files/oven_series.json");
    SimulateOptions options;
    options.fineness = static_cast<double>(state.range(0));
    for (auto _ : state) benchmark::DoNotOptimize(simulate(c.oven, c.amounts, options));
}
BENCHMARK(simulate_series)->Arg(1)->Arg(2)->Arg(4)->Unit(benchmark::kMillisecond);

void simulate_parallel_chains(benchmark::State& state) {
    auto const c = of("data/demo/method.json");
    for (auto _ : state) benchmark::DoNotOptimize(simulate(c.oven, c.amounts));
}
BENCHMARK(simulate_parallel_chains)->Unit(benchmark::kMillisecond);

void retime_series(benchmark::State& state) {
    auto const c = of("tests/contract/files/oven_series.json");
    for (auto _ : state) benchmark::DoNotOptimize(retime(c.oven, c.amounts));
}
BENCHMARK(retime_series)->Unit(benchmark::kMillisecond);

void baseline_fixed_cells_one_component(benchmark::State& state) {
    auto const c = of("tests/contract/files/oven_series.json");
    for (auto _ : state) benchmark::DoNotOptimize(slow_signal(c.oven, 4, 0, 0.02, 1));
}
BENCHMARK(baseline_fixed_cells_one_component)->Unit(benchmark::kMillisecond)->Iterations(1);

}  // namespace
}  // namespace gw::oven::perf
