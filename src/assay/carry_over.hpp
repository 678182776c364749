#pragma once
/// What a run has from the one before it: a peak that came too late for its own run, a tail that
/// had not ended, and old sample that was still in the line.
#include <optional>
#include <string>
#include <vector>

#include "assay/run.hpp"
#include "base/quantity.hpp"

namespace gw::assay {

/// An unexpected peak far too broad for its time: its plate number, counted from its own run's
/// injection, is below a quarter of what the named peaks of that detector have; counted from an
/// injection a whole number of cycles before it is like theirs (within a factor 2.5).
struct LatePeak {
    std::size_t peak{};         ///< in the run's peaks
    int runs_before{};          ///< injected so many runs before: 1, the run before
    double plates{};            ///< counted from its own run's injection
    double usual_plates{};      ///< median of the named peaks, whole and alone
    double plates_from_then{};  ///< counted from the injection it is held to come from
    bool also_before{};  ///< the run before shows it at the same place: it comes in every run
};

/// The record of the run before ends within this peak: the rest of it falls into this run.
struct UnfinishedPeak {
    int detector{};
    double apex_s{};  ///< in the run before
    /// Of the whole peak, what falls into this run, and its standard uncertainty; where that can
    /// be told (trace::Cut).
    std::optional<double> percent, u_percent;
};

struct CarryOver {
    std::vector<LatePeak> late;
    std::vector<UnfinishedPeak> unfinished;
    /// Of the gas of the run before, the share still in this run's sample, and its standard
    /// uncertainty; 1. Only with a run after on the same gas as this one, and where the gases
    /// differ enough for u below 0.02. All components together, weighted by their areas'
    /// uncertainties; u grows with their disagreement.
    std::optional<Measured> share;
};

/// before, run, after: in this order, without a run between them; cycle_s: from injection to
/// injection. Plates: 8 ln 2 (t / width at half height)^2, IUPAC 1993.
CarryOver carry_over(RunAreas const& before,
                     RunAreas const& run,
                     RunAreas const* after,
                     double cycle_s);

/// One sentence for each thing found.
std::vector<std::string> carry_over_notes(CarryOver const& found, RunAreas const& run);

}  // namespace gw::assay
