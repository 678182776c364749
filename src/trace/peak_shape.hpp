#pragma once
/// Apex, height, width and asymmetry of one peak that stands on zero.
#include <cstddef>
#include <optional>
#include <span>

namespace gw::trace {

struct PeakShape {
    double apex_s{};        ///< time of the top, between samples
    double height{};        ///< at the apex
    double width_half_s{};  ///< at half height; both flanks, or twice the one that reaches it
    double front_half_s{};  ///< apex less rising flank at half height
    double asymmetry{1};    ///< back over front at 10 % of the height; at the lowest level both
                            ///< flanks reach when neither comes down to 10 %
    std::optional<double> tailing;  ///< width at 5 % of the height over twice the front there
    bool front_reached = false, back_reached = false;  ///< whether each flank falls to half height
};

/// r: signal above the background; [first, last) bounds the peak; top: its highest sample. sign:
/// +1, or -1 for a dip. smooth: moving-mean half width in samples that the noise asks for.
PeakShape peak_shape(std::span<double const> r,
                     std::size_t first,
                     std::size_t last,
                     std::size_t top,
                     double sign,
                     double start_s,
                     double interval_s,
                     std::size_t smooth);

}  // namespace gw::trace
