// Peaks of a clean trace of 12 000 samples and 11 peaks: followed from the run before, searched
// with care, by the usual library in its own language, and one pass over the samples as the limit
// of the machine.
#include <benchmark/benchmark.h>
#include <fmt/format.h>

#include <array>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <numeric>
#include <optional>
#include <sstream>

#include "assay/run.hpp"
#include "base/wide.hpp"
#include "trace/block_kernels.hpp"
#include "trace/cluster_fit.hpp"
#include "trace/follow.hpp"
#include "trace/packed_run.hpp"
#include "trace/synthesis.hpp"

namespace gw::trace {
namespace {

Trace run(std::uint64_t number) {
    SyntheticDetector d;
    d.offset = 3.2, d.drift_per_s = 0.0004, d.white_noise = 0.002, d.quantum = 0.0001;
    double t = 15;
    for (double const height : {3.0, 40.0, 6.0, 9.0, 0.4, 2.0, 2.0, 25.0, 800.0, 20.0, 70.0}) {
        double const sigma = 0.3 + t / 300;
        d.peaks.push_back({height * sigma * 2.5066, t, sigma, 0.35 * sigma});
        t += 20;
    }
    SynthesisOptions o;
    o.duration_s = 240, o.run = number;
    return synthesise({d}, o);
}

GW_WIDE float total_of(float const* __restrict y, std::size_t n) {
    std::array<float, 64> sum{};
    for (std::size_t i = 0; i + 64 <= n; i += 64)
        for (std::size_t k = 0; k < 64; ++k) sum[k] += y[i + k];
    return std::accumulate(sum.begin(), sum.end(), 0.0F);
}

void one_pass(benchmark::State& state) {
    auto const trace = run(1);
    auto const& y = trace.signals[0];
    for (auto _ : state) benchmark::DoNotOptimize(total_of(y.data(), y.size()));
}
BENCHMARK(one_pass);

void followed_at(benchmark::State& state, std::string const& width) {
    use_kernel_width(width);
    PeakFollower follower;
    follower.find(run(0), 1, {});
    auto const trace = run(1);
    for (auto _ : state) benchmark::DoNotOptimize(follower.find(trace, 1, {}));
    if (follower.careful() != 1) state.SkipWithError("the run was not followed");
    use_kernel_width("");
}
void followed(benchmark::State& state) { followed_at(state, ""); }
BENCHMARK(followed);
// The same bits without the widest vectors.
void followed_narrow(benchmark::State& state) { followed_at(state, kernel_widths().front()); }
BENCHMARK(followed_narrow);

// The part of it that says how sure the areas are: two products and a root for each peak.
void followed_u_alone(benchmark::State& state) {
    std::array<double, 11> noise{}, shape{}, amount{}, u{};
    for (std::size_t k = 0; k < 11; ++k) noise[k] = 0.01, shape[k] = 0.002, amount[k] = 1.01;
    for (auto _ : state) {
        benchmark::DoNotOptimize(noise);
        for (std::size_t k = 0; k < 11; ++k)
            u[k] = std::hypot(noise[k] * 1.01, shape[k] * amount[k]);
        benchmark::DoNotOptimize(u);
    }
}
BENCHMARK(followed_u_alone);

// The same with every peak named, as a replay does.
void followed_and_named(benchmark::State& state) {
    assay::Method method;
    auto const first = find_peaks(run(0), 1);
    std::uint8_t number = 0;  // any components do: nothing is asked of them
    for (auto const& p : first.peaks)
        method.peaks.push_back({gas::Component{number++}, p.apex_s, 3.0});
    PeakFollower follower;
    assay::PeakFinder const finder = [&](Trace const& trace, int detector, PeakOptions const& o) {
        return follower.find(trace, detector, o);
    };
    assay::run_areas(run(0), method, finder);
    auto const trace = run(1);
    for (auto _ : state) benchmark::DoNotOptimize(assay::run_areas(trace, method, finder));
    if (follower.careful() != 1) state.SkipWithError("the run was not followed");
}
BENCHMARK(followed_and_named);

void careful(benchmark::State& state) {
    auto const trace = run(1);
    for (auto _ : state) benchmark::DoNotOptimize(find_peaks(trace, 1));
}
BENCHMARK(careful)->Unit(benchmark::kMicrosecond);

// What a script of the usual library prints: seconds, and what it found.
std::optional<std::vector<double>> by_usual_library(std::string const& script,
                                                    std::string const& argument) {
    auto const command =
        fmt::format("/usr/bin/python3 {}/perf/trace/{} {} 2>&1", GW_SOURCE_DIR, script, argument);
    std::array<char, 256> line{};
    FILE* out = ::popen(command.c_str(), "r");
    bool const got = out != nullptr && std::fgets(line.data(), line.size(), out) != nullptr;
    if (out != nullptr) ::pclose(out);
    std::vector<double> numbers;
    std::istringstream words(line.data());
    for (double number = 0; got && words >> number;) numbers.push_back(number);
    if (numbers.empty()) return std::nullopt;
    return numbers;
}

void usual_library(benchmark::State& state) {
    auto const trace = run(1);
    std::string const path = "/tmp/gw_peaks_perf.f32";
    {
        std::ofstream file(path, std::ios::binary);
        file.write(reinterpret_cast<char const*>(trace.signals[0].data()),
                   static_cast<std::streamsize>(4 * trace.samples()));
    }
    for (auto _ : state) {
        auto const found = by_usual_library("scipy_baseline.py", path);
        if (!found) {
            state.SkipWithError("python3-scipy is not installed: no baseline");
            break;
        }
        state.SetIterationTime(found->at(0));
        state.counters["peaks"] = found->at(1);
    }
    std::remove(path.c_str());
}
BENCHMARK(usual_library)->UseManualTime()->Iterations(1)->Unit(benchmark::kMicrosecond);

// The pair below by the usual library; areas in thousandths, as pair_fit shows them.
void usual_library_pair(benchmark::State& state) {
    for (auto _ : state) {
        auto const found = by_usual_library("scipy_fit.py", "");
        if (!found) {
            state.SkipWithError("python3-scipy is not installed: no baseline");
            break;
        }
        state.SetIterationTime(found->at(0));
        state.counters["first"] = found->at(2), state.counters["second"] = found->at(3);
    }
}
BENCHMARK(usual_library_pair)->UseManualTime()->Iterations(1)->Unit(benchmark::kMicrosecond);

void pair_fit(benchmark::State& state) {
    std::vector<double> y;
    std::vector<Emg> const truth{{100, 10, 0.5, 0.2}, {10, 11.3, 0.5, 0.2}};
    for (double t = 6; t < 17; t += 0.02) y.push_back(value(truth[0], t) + value(truth[1], t));
    ClusterFit fit;
    for (auto _ : state)
        fit = fit_cluster(y, 6, 0.02, 0.01, {{95, 10.02, 0.52, 0.15}, {11, 11.28, 0.48, 0.25}});
    state.counters["first"] = std::round(1000 * fit.peaks[0].area);
    state.counters["second"] = std::round(1000 * fit.peaks[1].area);
}
BENCHMARK(pair_fit)->Unit(benchmark::kMicrosecond);

void eleven_peak_fit(benchmark::State& state) {
    std::vector<double> y(12000);
    std::vector<Emg> truth, start;
    for (int k = 0; k < 11; ++k) {
        double const t = 15 + 20 * k, sigma = 0.3 + t / 300;
        truth.push_back({25 * sigma, t, sigma, 0.35 * sigma});
        start.push_back({22 * sigma, t + 0.05 * sigma, 1.1 * sigma, 0.25 * sigma});
    }
    for (std::size_t i = 0; i < y.size(); ++i)
        for (auto const& p : truth) y[i] += value(p, 0.02 * static_cast<double>(i));
    for (auto _ : state) benchmark::DoNotOptimize(fit_cluster(y, 0, 0.02, 0.002, start));
}
BENCHMARK(eleven_peak_fit)->Unit(benchmark::kMicrosecond);

void unpack(benchmark::State& state) {
    auto const bytes = *packed(run(1));
    Unpacker unpacker;
    for (auto _ : state) benchmark::DoNotOptimize(unpacker.unpacked(bytes.head, bytes.body, "run"));
    state.counters["bytes"] = static_cast<double>(bytes.body.size());
}
BENCHMARK(unpack);

}  // namespace
}  // namespace gw::trace
