// The list of ten thousand visits, and what one acknowledged entry costs.
#include <benchmark/benchmark.h>
#include <fmt/format.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "base/hash.hpp"
#include "store/sqlite_store.hpp"

namespace gw::store {
namespace {

constexpr int visits = 10000, entries_of_a_visit = 8;

// Files of this run; gone when it ends.
struct Scratch {
    std::filesystem::path folder =
        std::filesystem::temp_directory_path() / fmt::format("gw_store_perf_{}", getpid());
    Scratch() { std::filesystem::create_directories(folder); }
    ~Scratch() { std::filesystem::remove_all(folder); }
    Scratch(Scratch const&) = delete;
    Scratch& operator=(Scratch const&) = delete;
};
std::string scratch(std::string const& name) {
    static Scratch const place;
    return (place.folder / name).string();
}

// One store for all, made once: opening and ending of each visit, and evidence between.
std::string const& filled() {
    static std::string const file = [] {
        auto path = scratch("store.db");
        StoreOptions options;
        options.file = path;
        options.create = true;
        auto const store = open_store(options).value();
        for (int v = 0; v < visits; v += 100) {
            Append append;
            for (int i = v; i < v + 100; ++i)
                for (int n = 0; n < entries_of_a_visit; ++n) {
                    bool const first = n == 0, last = n + 1 == entries_of_a_visit;
                    append.entries.push_back({Instant{1000LL * (i + n), 0},
                                              fmt::format("PX-{}-20260302-{:04x}", i % 40, i),
                                              first  ? "visit"
                                              : last ? "end"
                                                     : "evidence",
                                              "A. Person",
                                              first
                                                  ? Json{{"analyser", fmt::format("PX-{}", i % 40)},
                                                         {"plan", "exchange"}}
                                              : last ? Json{{"as", "completed"}}
                                                     : Json{{"stage", "arrive"},
                                                            {"step", "gas test"},
                                                            {"value", "0"},
                                                            {"unit", "%LEL"}},
                                              {}});
                }
            if (!store->append(append)) std::abort();
        }
        return path;
    }();
    return file;
}

StoreOptions at(std::string const& file) {
    StoreOptions options;
    options.file = file;
    return options;
}

// As a command does it: open the file, list, close.
void list_of_10000_visits(benchmark::State& state) {
    auto const options = at(filled());
    for (auto _ : state) {
        auto const store = open_store(options).value();
        auto const lines = store->visits({}).value();
        if (lines.size() != visits) state.SkipWithError("the list is short");
        benchmark::DoNotOptimize(lines.data());
    }
}
BENCHMARK(list_of_10000_visits)->Unit(benchmark::kMillisecond);

// Baseline: the same list folded from the whole journal.
void list_from_the_journal(benchmark::State& state) {
    auto const store = open_store(at(filled())).value();
    for (auto _ : state) {
        std::map<std::string, VisitLine> lines;
        for (std::int64_t next = 1;;) {
            auto const some = store->from(next, 10000).value();
            if (some.empty()) break;
            for (auto const& entry : some)
                if (visit::about(entry) == visit::About::visit)
                    visit::note(lines[entry.subject], entry);
            next = some.back().sequence + 1;
        }
        benchmark::DoNotOptimize(lines.size());
    }
}
BENCHMARK(list_from_the_journal)->Unit(benchmark::kMillisecond);

void whole_check(benchmark::State& state) {
    auto const options = at(filled());
    for (auto _ : state)
        if (!check_store(options, {})->intact()) state.SkipWithError("not intact");
}
BENCHMARK(whole_check)->Unit(benchmark::kMillisecond);

void one_acknowledged_entry(benchmark::State& state) {
    auto const file = scratch("append.db");
    std::filesystem::remove(file);
    auto options = at(file);
    options.create = true;
    auto const store = open_store(options).value();
    Append append;
    append.entries.push_back(
        {Instant{1, 0}, "V-1", "note", "A. Person", Json{{"text", "seen"}}, {}});
    for (auto _ : state)
        if (!store->append(append)) state.SkipWithError("not recorded");
}
BENCHMARK(one_acknowledged_entry)->Unit(benchmark::kMillisecond);

// Baseline: one small write forced to the same disk.
void one_forced_write(benchmark::State& state) {
    auto const file = scratch("forced");
    auto* const out = std::fopen(file.c_str(), "wb");
    for (auto _ : state) {
        std::fputs("0123456789abcdef", out);
        std::fflush(out);
        fdatasync(fileno(out));
    }
    std::fclose(out);
}
BENCHMARK(one_forced_write)->Unit(benchmark::kMillisecond);

}  // namespace
}  // namespace gw::store
