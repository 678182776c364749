#pragma once
/// Invented layouts and runs of known names, for judging how names follow a flow that has moved.
#include <cstdint>
#include <initializer_list>
#include <optional>
#include <random>
#include <vector>

#include "assay/alignment.hpp"
#include "assay/run.hpp"

namespace gw::truth {

/// What was turned back comes first, then what goes straight through, then what was held.
struct Layout {
    std::vector<double> events;
    std::vector<assay::ExpectedPeak> expected;  ///< in order of retention
    std::vector<double> origins;                ///< of each
    [[nodiscard]] double at(std::size_t e, double stretch) const {
        return origins[e] + stretch * (expected[e].retention_s - origins[e]);
    }
};

Layout usual_layout();
/// Two chains side by side: what was turned back comes between the lights and the rest.
Layout parallel_layout();
/// Other times, groups, events and windows for every number.
Layout random_layout(std::uint64_t number);

enum class Kind : std::uint8_t { usual, parallel, random };
constexpr std::initializer_list<Kind> all_kinds{Kind::usual, Kind::parallel, Kind::random};

enum class Story : std::uint8_t {
    moved,      ///< flow up to 8 % off, one missing, one more than expected, an oven that drifts
    all_there,  ///< flow up to 8 % off, none missing, none extra
    still,      ///< nothing moved, one missing, one extra
    stranger,   ///< peaks of another analyser: anywhere
    leak,       ///< each group moves by its own stretch, up to 3 % apart; one missing
};

struct Case {
    std::vector<trace::Peak> peaks;
    std::vector<std::optional<std::size_t>> truth;  ///< by peak
    double stretch = 1;
};
Case invented_case(Layout const& layout, Story story, std::uint64_t number);

struct NameTally {
    int cases = 0, peaks = 0, right = 0, wrong = 0, none = 0, extra = 0, extra_named = 0,
        aligned = 0;
};
/// As run_areas names them: by the times as stated where these name all, else as align says.
NameTally named(Kind kind, Story story, std::uint64_t first, int cases);

}  // namespace gw::truth
