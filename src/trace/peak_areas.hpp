#pragma once
/// Areas: the plain sum for a peak that stands alone; where neighbours meet, the sum between
/// borders corrected by what the fitted shapes carry across them.
#include <optional>
#include <span>
#include <vector>

#include "trace/emg.hpp"
#include "trace/survey.hpp"

namespace gw::trace {

/// How a peak of a cluster was described, for those who share the next run out the same way.
struct SharedShape {
    std::optional<Emg> shape;                     ///< trusted to say what lies beyond a border
    double u_noise{};                             ///< of the area, what the noise alone gives
    double u_shape{};                             ///< of the area, what its form gives
    std::size_t cluster_first{}, cluster_last{};  ///< peaks fitted together; equal when none
    double excess{};  ///< of the fit's weighted squares, over what noise makes of them
};

/// raw: the samples as recorded, for clipping.
std::vector<Peak> measured_peaks(Survey const& survey,
                                 Regions const& regions,
                                 std::span<float const> raw,
                                 int detector,
                                 std::vector<SharedShape>* shapes = nullptr);

}  // namespace gw::trace
