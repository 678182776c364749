// Peaks of a clean trace of 12 000 samples and 11 peaks: followed from the run before, searched
// with care, by the usual library in its own language, and one pass over the samples as the limit
// of the machine.
#include <benchmark/benchmark.h>
#include <fmt/format.h>

#include <array>
#include <cstdio>
#include <fstream>
#include <numeric>

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

void one_pass(benchmark::State& state) {
    auto const trace = run(1);
    auto const& y = trace.signals[0];
    for (auto _ : state) {
        std::array<float, 16> sum{};
        for (std::size_t i = 0; i + 16 <= y.size(); i += 16)
            for (std::size_t k = 0; k < 16; ++k) sum[k] += y[i + k];
        benchmark::DoNotOptimize(sum);
    }
}
BENCHMARK(one_pass);

void followed(benchmark::State& state) {
    PeakFollower follower;
    follower.find(run(0), 1, {});
    auto const trace = run(1);
    for (auto _ : state) benchmark::DoNotOptimize(follower.find(trace, 1, {}));
    if (follower.careful() != 1) state.SkipWithError("the run was not followed");
}
BENCHMARK(followed);

void careful(benchmark::State& state) {
    auto const trace = run(1);
    for (auto _ : state) benchmark::DoNotOptimize(find_peaks(trace, 1));
}
BENCHMARK(careful)->Unit(benchmark::kMicrosecond);

void usual_library(benchmark::State& state) {
    auto const trace = run(1);
    std::string const path = "/tmp/gw_peaks_perf.f32";
    {
        std::ofstream file(path, std::ios::binary);
        file.write(reinterpret_cast<char const*>(trace.signals[0].data()),
                   static_cast<std::streamsize>(4 * trace.samples()));
    }
    auto const command = fmt::format(
        "/usr/bin/python3 {}/perf/trace/scipy_baseline.py {} 2>&1", GW_SOURCE_DIR, path);
    for (auto _ : state) {
        std::array<char, 256> line{};
        FILE* out = ::popen(command.c_str(), "r");
        bool const got = out != nullptr && std::fgets(line.data(), line.size(), out) != nullptr;
        if (out != nullptr) ::pclose(out);
        double seconds = 0;
        int peaks = 0;
        if (!got || std::sscanf(line.data(), "%lf %d", &seconds, &peaks) != 2) {
            state.SkipWithError("python3-scipy is not installed: no baseline");
            break;
        }
        state.SetIterationTime(seconds);
        state.counters["peaks"] = peaks;
    }
    std::remove(path.c_str());
}
BENCHMARK(usual_library)->UseManualTime()->Iterations(1)->Unit(benchmark::kMicrosecond);

void pair_fit(benchmark::State& state) {
    std::vector<double> y;
    std::vector<Emg> const truth{{100, 10, 0.5, 0.2}, {10, 11.3, 0.5, 0.2}};
    for (double t = 6; t < 17; t += 0.02) y.push_back(value(truth[0], t) + value(truth[1], t));
    for (auto _ : state)
        benchmark::DoNotOptimize(
            fit_cluster(y, 6, 0.02, 0.01, {{95, 10.02, 0.52, 0.15}, {11, 11.28, 0.48, 0.25}}));
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
