#pragma once
/// Trains of peaks of one height, a thousand times the noise, as dense as a busy run: where a few
/// parts in ten thousand show, and where the background has little room. Pairs, kicks at known
/// events and a wandering line are added at will.
#include "truth/invented_run.hpp"

namespace gw::truth {

struct TallFamily {
    std::string name;
    Form form = Form::modified;
    double wander = 0;  ///< amplitude of a slow sine in noises, at most; its period 150 to 500 s
    double resolution = 0;  ///< of pairs, by half widths; 0: every peak stands alone
    double ratio = 10;      ///< of a pair's heights; which comes first is chance
    int kicks = 0;  ///< at known events anywhere: 5 to 100 noises, gone in 0.05 to 0.2 s, and a
                    ///< step of 6 at most
};

struct TallRun {
    Run run;
    std::vector<trace::SignalEvent> events;
};

TallRun tall_run(TallFamily const& family, std::uint64_t number);
Tally tally_of(TallFamily const& family, std::uint64_t first, int runs);

/// All families that docs/peaks.md states figures for.
std::vector<TallFamily> tall_families();

}  // namespace gw::truth
