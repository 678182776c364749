// The year that a replay is measured on: replay_year FOLDER RUNS [close] writes year.gwa,
// method.json and calibration.json there. With `close` the butanes meet at a resolution of 0.85 and
// the pentanes at 1.2. 64 different runs of one invented analyser (four gases, sixteen days of
// each), every run with noise, amounts, times and baseline of its own; counts of a converter.
#include <fmt/format.h>

#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "base/file.hpp"
#include "base/json.hpp"
#include "base/random.hpp"
#include "trace/archive.hpp"
#include "trace/emg.hpp"

namespace {

struct Line {
    char const* component;
    double retention_s, sigma_s, tau_s, factor;  // factor: mV s per mol/mol
    std::array<double, 4> percent;               // in each gas
};

// Retentions, widths and factors of no analyser that exists; nine peaks stand alone, the two
// pentanes after neopentane meet at a resolution of about 1.5.
std::array<Line, 11> lines{{
    {"C6+", 32, 0.50, 0.20, 9000, {0.05, 0.03, 0.08, 0.02}},
    {"propane", 48, 0.60, 0.20, 6000, {0.9, 0.5, 1.6, 0.3}},
    {"isobutane", 60, 0.70, 0.25, 7000, {0.15, 0.09, 0.3, 0.06}},
    {"n-butane", 71, 0.80, 0.25, 7100, {0.2, 0.1, 0.35, 0.05}},
    {"neopentane", 82, 0.90, 0.25, 7600, {0.006, 0.006, 0.009, 0.005}},
    {"isopentane", 95, 1.00, 0.30, 8000, {0.05, 0.03, 0.09, 0.02}},
    {"n-pentane", 108, 1.05, 0.30, 8200, {0.04, 0.025, 0.08, 0.015}},
    {"nitrogen", 130, 0.80, 0.30, 3600, {1.1, 3.0, 0.6, 11.0}},
    {"methane", 142, 0.95, 0.40, 3400, {91.0, 92.0, 86.0, 83.0}},
    {"carbon dioxide", 170, 1.20, 0.40, 4500, {1.2, 0.8, 1.9, 1.1}},
    {"ethane", 200, 1.50, 0.50, 4900, {4.5, 2.6, 8.0, 3.2}},
}};

constexpr double interval_s = 0.02, cycle_s = 240, count_mV = 0.0001, noise_mV = 0.002;
constexpr std::size_t samples = 12000;

void write(std::string const& path, gw::Json const& json) {
    if (!gw::write_file(path, gw::to_text(json))) std::exit(3);
}

}  // namespace

int main(int argc, char** argv) {
    bool const close = argc == 4 && std::string_view(argv[3]) == "close";
    if (argc != 3 && !close) {
        fmt::print(stderr, "use: replay_year FOLDER RUNS [close]\n");
        return 2;
    }
    if (close) lines[3].retention_s = 62.65, lines[6].retention_s = 100.1;
    std::string const folder = argv[1];
    auto const runs = static_cast<std::uint64_t>(std::strtoull(argv[2], nullptr, 10));
    std::filesystem::create_directories(folder);
    gw::Json peaks = gw::Json::array(), factors = gw::Json::object();
    for (auto const& l : lines) {
        peaks.push_back({{"component", l.component},
                         {"retention_s", l.retention_s},
                         {"window_s", close ? 1.2 : 3}});
        factors[l.component] = {
            {"factor", l.factor}, {"u", 0.002 * l.factor}, {"retention_s", l.retention_s}};
    }
    write(folder + "/method.json",
          {{"schema", "gaswright.method/1"},
           {"name", "invented year"},
           {"cycle_s", cycle_s},
           {"sample_rate_hz", 1 / interval_s},
           {"peaks", peaks},
           {"characterisation",
            {{"C6+", {{"n-hexane", 0.47466}, {"n-heptane", 0.3534}, {"n-octane", 0.17194}}}}}});
    write(folder + "/calibration.json",
          {{"schema", "gaswright.calibration/1"}, {"components", factors}});

    std::array<std::vector<float>, 64> base;
    for (std::size_t b = 0; b < base.size(); ++b) {
        gw::RandomStream random(2026, b);
        auto const load = 1 + 0.005 * random.normal(), pace = 1 + 2e-5 * random.normal();
        base[b].resize(samples);
        std::vector<gw::trace::Emg> shapes;
        for (auto const& l : lines)
            shapes.push_back(
                {load * l.factor * l.percent[b % 4] / 100 * (1 + 0.03 * random.normal()),
                 l.retention_s * pace,
                 l.sigma_s,
                 l.tau_s});
        for (std::size_t i = 0; i < samples; ++i) {
            double const t = static_cast<double>(i) * interval_s;
            double v = 3.2 + 0.0004 * t;
            for (auto const& s : shapes)
                if (std::abs(t - s.mu) < 12) v += value(s, t);
            base[b][i] = static_cast<float>(v);
        }
    }
    auto writer = gw::trace::ArchiveWriter::create(folder + "/year.gwa");
    if (!writer) return 3;
    gw::trace::Trace trace;
    trace.interval_s = interval_s;
    trace.signals.assign(1, std::vector<float>(samples));
    for (std::uint64_t run = 0; run < runs; ++run) {
        gw::RandomStream random(7, run);
        std::size_t const gas = run / 360 % 4, day = run / 90 % 16;  // a day each, in turn
        auto const& shape = base[4 * day + gas];
        double const offset = 0.02 * random.normal();
        for (std::size_t i = 0; i < samples; ++i)
            trace.signals[0][i] = static_cast<float>(
                std::nearbyint((shape[i] + offset + noise_mV * random.normal()) / count_mV) /
                10000);
        trace.source = fmt::format("run{:06}", run + 1);
        trace.start = gw::Instant{1'767'225'600'000 + static_cast<std::int64_t>(run) * 240'000, 0};
        trace.header = {
            {"gas", "line"}, {"stream", std::to_string(gas + 1)}, {"ambient_kpa", "99.1"}};
        if (auto const added = writer->add(trace); !added) {
            fmt::print(stderr, "{}\n", added.error().what);
            return 3;
        }
    }
    return writer->finish() ? 0 : 3;
}
