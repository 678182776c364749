#pragma once
/// Peaks that a valve or an end of the record cuts: on which side, and how much of them is probably
/// lost.
#include <optional>

#include "trace/survey.hpp"

namespace gw::trace {

struct CutPlace {
    bool front = false;    ///< what came before is lost; else what came after
    std::size_t sample{};  ///< first that is whole again, or the first that is lost
    double at_s{};
};

/// None for a whole peak. A sudden edge counts at an end of the record and at a known event: a fall
/// faster than any peak's, or a rise to a flank that goes on rising.
std::optional<CutPlace> cut_of(Survey const& survey, Regions const& regions, Region const& peak);

/// What a modified Gaussian through the part that is left has beyond the cut, over all of it.
/// seen: area of what is left, unit x s. No number where what is left does not tell: its standard
/// uncertainty would be above a quarter of the peak.
Cut cut_loss(Survey const& survey,
             Regions const& regions,
             Region const& peak,
             CutPlace const& place,
             double seen);

}  // namespace gw::trace
