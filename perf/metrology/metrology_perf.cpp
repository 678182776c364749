// ISO 10723 over 100 000 compositions, JCGM 101 with 10^6 trials, a year of runs charted; each on
// one thread, with the plain way of doing it beside it.
#include <benchmark/benchmark.h>

#include <cmath>

#include "assay/calorific_distribution.hpp"
#include "assay/performance.hpp"
#include "base/random.hpp"
#include "visit/chart.hpp"

namespace gw {
namespace {

struct Amount {
    char const* name;
    double low, high, at, factor;
};
constexpr Amount amounts[] = {{"methane", 0.80, 0.98, 0.90, 95},
                              {"nitrogen", 0.003, 0.06, 0.03, 110},
                              {"carbon dioxide", 0.001, 0.04, 0.012, 118},
                              {"ethane", 0.005, 0.10, 0.04, 132},
                              {"propane", 0.001, 0.04, 0.01, 152},
                              {"isobutane", 0.0002, 0.008, 0.002, 178},
                              {"n-butane", 0.0002, 0.01, 0.0025, 181},
                              {"isopentane", 0.0001, 0.003, 0.001, 199},
                              {"n-pentane", 0.0001, 0.003, 0.001, 203},
                              {"n-hexane", 0.0001, 0.002, 0.0005, 231},
                              {"helium", 0.0001, 0.002, 0.001, 31}};

assay::PerformanceSpec spec() {
    assay::PerformanceSpec out;
    for (auto const& a : amounts) {
        out.components.push_back(*gas::find_component(a.name));
        out.low.push_back(a.low);
        out.high.push_back(a.high);
    }
    out.order.resize(out.components.size());
    out.heavy_end = gas::default_characterisation();
    out.compositions = 100000;
    out.limit_percent[0] = 0.1;
    RandomStream random(1, 1);
    for (int g = 0; g < 9; ++g) {
        assay::ReferenceGas gas;
        for (auto const& a : amounts) {
            double const x = g == 0 ? a.at : a.low + (a.high - a.low) * random.uniform();
            gas.percent.push_back({100 * x, 0.01 * x});
            std::vector<double> runs;
            for (int r = 0; r < 10; ++r)
                runs.push_back(a.factor * 100 * x * (1 + 1e-3 * x + 2e-4 * random.normal()));
            gas.areas.push_back(std::move(runs));
        }
        out.gases.push_back(std::move(gas));
    }
    return out;
}

void evaluation_100k_one_core(benchmark::State& state) {
    auto const s = spec();
    for (auto _ : state) benchmark::DoNotOptimize(assay::evaluate_performance(s, 1)->properties[0]);
}
BENCHMARK(evaluation_100k_one_core)->Unit(benchmark::kMillisecond);

// One composition at a time through the full ISO 6976, errors alone, a hundredth of the
// compositions.
void evaluation_plain_1k(benchmark::State& state) {
    auto const s = spec();
    std::vector<assay::ResponseFunction> functions;
    for (std::size_t i = 0; i < s.components.size(); ++i)
        functions.push_back(assay::response_function(s, i).value());
    std::size_t const n = s.components.size();
    for (auto _ : state) {
        double sum = 0;
        for (std::uint64_t k = 0; k < 1000; ++k) {
            RandomStream random(1, k);
            gas::Composition truth, shown;
            truth.components = shown.components = s.components;
            double rest = 1;
            truth.x.assign(n, 0.0);
            for (std::size_t i = 1; i < n; ++i) {
                truth.x[i] = s.low[i] + (s.high[i] - s.low[i]) * random.uniform();
                rest -= truth.x[i];
            }
            truth.x[0] = rest;
            double total = 0;
            for (std::size_t i = 0; i < n; ++i) {
                double const c = s.gases[0].percent[i].value;
                shown.x.push_back(functions[i].fit.f(100 * truth.x[i]) / functions[i].fit.f(c) * c);
                total += shown.x.back();
            }
            for (double& x : shown.x) x /= total;
            sum += gas::iso6976(shown)->real.gross_cv_volume.value /
                   gas::iso6976(truth)->real.gross_cv_volume.value;
        }
        benchmark::DoNotOptimize(sum);
    }
}
BENCHMARK(evaluation_plain_1k)->Unit(benchmark::kMillisecond);

gas::Composition typical() {
    gas::Composition out;
    std::vector<double> u;
    for (auto const& a : amounts) {
        out.components.push_back(*gas::find_component(a.name));
        out.x.push_back(a.at);
        u.push_back(0.002 * a.at);
    }
    out.V = SquareMatrix::of_standard_uncertainties(u);
    return gas::normalised(out);
}

void monte_carlo_1e6_one_core(benchmark::State& state) {
    auto const gas = typical();
    metrology::MonteCarloOptions options;
    options.adaptive = false;
    options.threads = 1;
    for (auto _ : state)
        benchmark::DoNotOptimize(assay::calorific_distribution(gas, {}, options)->monte_carlo.u);
}
BENCHMARK(monte_carlo_1e6_one_core)->Unit(benchmark::kMillisecond);

void monte_carlo_1e6_two_threads(benchmark::State& state) {
    auto const gas = typical();
    metrology::MonteCarloOptions options;
    options.adaptive = false;
    options.threads = 2;
    for (auto _ : state)
        benchmark::DoNotOptimize(assay::calorific_distribution(gas, {}, options)->monte_carlo.u);
}
BENCHMARK(monte_carlo_1e6_two_threads)->Unit(benchmark::kMillisecond)->UseRealTime();

void normal_numbers_11e6(benchmark::State& state) {  // the floor under the trials
    for (auto _ : state) {
        RandomStream random(1, 1);
        double sum = 0;
        for (int i = 0; i < 11'000'000; ++i) sum += random.normal();
        benchmark::DoNotOptimize(sum);
    }
}
BENCHMARK(normal_numbers_11e6)->Unit(benchmark::kMillisecond);

// A year at a run every four minutes: 131 400 readings; quiet, and with a drift in its last tenth
// (looking back then has to hold it against a thousand series without a change).
void year_of_runs_charted(benchmark::State& state) {
    trace::SeriesTable series;
    RandomStream random(3, 1);
    constexpr std::size_t n = 131400;
    for (std::size_t i = 0; i < n; ++i) {
        series.t.push_back(240.0 * static_cast<double>(i));
        series.events.emplace_back();
    }
    trace::SeriesColumn column{"total", series.t, {}, {}};
    double const slope = state.range(0) == 0 ? 0 : 1e-5;
    for (std::size_t i = 0; i < n; ++i) {
        double const late = i > 118000 ? static_cast<double>(i - 118000) : 0;
        column.y.push_back(100 + 0.05 * random.normal() + slope * late);
        column.row.push_back(i);
    }
    series.columns.push_back(std::move(column));
    for (auto _ : state) benchmark::DoNotOptimize(visit::charts(series, {})->charts.size());
}
BENCHMARK(year_of_runs_charted)->Arg(0)->Arg(1)->Unit(benchmark::kMillisecond);

void year_of_runs_summed(benchmark::State& state) {  // the floor: one pass over the readings
    RandomStream random(3, 1);
    std::vector<double> y(131400);
    for (double& v : y) v = 100 + 0.05 * random.normal();
    for (auto _ : state) {
        double sum = 0;
        for (double const v : y) sum += v;
        benchmark::DoNotOptimize(sum);
    }
}
BENCHMARK(year_of_runs_summed)->Unit(benchmark::kMillisecond);

}  // namespace
}  // namespace gw
