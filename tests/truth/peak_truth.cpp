// How find_peaks scores on runs of known truth, family by family: `peak_truth [runs [first
// [family]]]`. The figures of docs/peaks.md come from here.
#include <fmt/format.h>

#include <cmath>
#include <cstdlib>
#include <string_view>

#include "truth/invented_run.hpp"
#include "truth/tall_run.hpp"

int main(int count, char** arguments) {
    using namespace gw::truth;
    int const runs = count > 1 ? std::atoi(arguments[1]) : 100;
    auto const first = static_cast<std::uint64_t>(count > 2 ? std::atoll(arguments[2]) : 0);
    std::string_view const only = count > 3 ? arguments[3] : "";
    fmt::print("{} runs a family from number {}; shares of peaks within 1.96 u\n\n", runs, first);
    fmt::print("{:<26}{:>6}{:>5}{:>5}|{:>7}{:>7}{:>7}{:>7}{:>7}|{:>9}{:>9}{:>9}\n",
               "family",
               "peaks",
               "miss",
               "inv",
               "all",
               "alone",
               "close",
               "wide",
               "narrow",
               "median",
               "99 %",
               "S/N 1000+");
    for (auto const& f : families()) {
        if (!only.empty() && f.name.find(only) == std::string::npos) continue;
        auto const t = tally_of(f, first, runs);
        using Seen = Tally::Seen;
        auto const all = [](Seen const&) { return true; };
        auto const alone = [](Seen const& s) { return s.truth.resolution >= 3; };
        auto const close = [](Seen const& s) { return s.truth.resolution < 1.5; };
        auto const wide = [](Seen const& s) { return s.truth.width_half_s > 5; };
        auto const narrow = [](Seen const& s) { return s.truth.width_half_s < 1.5; };
        auto const tall = [&](Seen const& s) { return s.over_noise > 1000 && alone(s); };
        fmt::print("{:<26}{:>6}{:>5}{:>5}|", f.name, t.expected, t.missed, t.invented);
        for (auto const& which :
             {std::function<bool(Seen const&)>(all), {alone}, {close}, {wide}, {narrow}})
            fmt::print("{:>7.3f}", t.covered(which));
        fmt::print("|{:>9.4f}{:>9.4f}{:>9.4f}\n",
                   100 * t.error(0.5, tall),
                   100 * t.error(0.99, tall),
                   100 * t.error(1, tall));
    }
    fmt::print("\n{:<26}{:>6}{:>5}{:>5}|{:>7}|{:>9}{:>9}{:>9}|{:>9}{:>9}{:>9}\n",
               "dense, S/N 1000",
               "peaks",
               "miss",
               "inv",
               "all",
               "tall 50 %",
               "99 %",
               "100 %",
               "small 50%",
               "95 %",
               "100 %");
    for (auto const& f : tall_families()) {
        if (!only.empty() && f.name.find(only) == std::string::npos) continue;
        auto const t = tally_of(f, first, runs);
        auto const tall = [](Tally::Seen const& s) { return s.truth.height > 500; };
        auto const small = [&](Tally::Seen const& s) { return !tall(s); };
        fmt::print(
            "{:<26}{:>6}{:>5}{:>5}|{:>7.3f}|{:>9.4f}{:>9.4f}{:>9.4f}|{:>9.4f}{:>9.4f}{:>9.4f}\n",
            f.name,
            t.expected,
            t.missed,
            t.invented,
            t.covered([](Tally::Seen const&) { return true; }),
            100 * t.error(0.5, tall),
            100 * t.error(0.99, tall),
            100 * t.error(1, tall),
            100 * t.error(0.5, small),
            100 * t.error(0.95, small),
            100 * t.error(1, small));
    }
}
