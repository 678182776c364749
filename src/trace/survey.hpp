#pragma once
/// What every stage of the peak finder is given: one detector's signal on its time grid, what is
/// known about it, and what has been settled so far.
#include <algorithm>
#include <cmath>
#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "trace/background.hpp"
#include "trace/candidates.hpp"
#include "trace/disturbance.hpp"
#include "trace/emg.hpp"
#include "trace/noise_spectrum.hpp"
#include "trace/peak_shape.hpp"
#include "trace/peaks.hpp"

namespace gw::trace {

constexpr double half_width_of_sigma =
    2.354820045030949;  ///< full width at half height of a Gaussian

/// The inputs; the owner of `y`, `disturbances`, `gaps` and `options` outlives it.
struct Survey {
    std::span<double const> y;  ///< signal without disturbances
    double start_s{}, dt{};     ///< time of y[0]; sample interval
    double fast{};              ///< standard deviation of the fast noise
    double grain{};             ///< step of the signal where noise does not blur it, else 0
    std::span<Disturbance const> disturbances;
    std::span<Gap const> gaps;
    PeakOptions const& options;

    [[nodiscard]] double time(std::size_t i) const { return start_s + static_cast<double>(i) * dt; }
    /// Nearest sample, held inside the record.
    [[nodiscard]] std::size_t index(double t) const {
        double const i = std::round((t - start_s) / dt);
        return static_cast<std::size_t>(std::clamp(i, 0.0, static_cast<double>(y.size() - 1)));
    }
};

/// One peak and the samples that belong to it.
struct Region {
    Candidate candidate;
    double sign = 1;
    std::size_t first{}, last{}, top{};                ///< samples [first, last); highest sample
    bool joined_before = false, joined_after = false;  ///< bounded by a valley with its neighbour
    double width_s{};                                  ///< half width, first estimate
    double front_s = INFINITY, back_s = INFINITY;  ///< from the top to where its flanks, carried on
                                                   ///< as they fall, are lost in the noise
    bool shoulder = false;                         ///< no top of its own
    PeakShape shape;
    std::optional<Emg> told;  ///< its shape, where only that tells of it or of its neighbour
};

/// The answer of the settling.
struct Regions {
    std::vector<Region> peaks;  ///< in order of time
    Background ground;
    std::vector<bool> free;     ///< samples the background was laid through
    NoiseSpectrum spectrum;     ///< of the noise there
    std::vector<double> above;  ///< y less the background
    double rms{};               ///< standard deviation of the peak-free signal about the background
    double rounding{};          ///< unit: what a coarse converter may shift the level by
    double slow_scatter =
        1;  ///< variance of its means over two seconds, over what white noise gives
};

/// Moving mean of sign x values around sample i, computed where it is wanted.
inline double mean_at(std::span<double const> values, std::size_t i, std::size_t half) {
    std::size_t const h = std::min({half, i, values.size() - 1 - i});
    double sum = 0;
    for (std::size_t k = i - h; k <= i + h; ++k) sum += values[k];
    return sum / static_cast<double>(2 * h + 1);
}

/// The same at all samples from `first` to `last`, the last included.
std::vector<double> means_at(std::span<double const> values,
                             std::size_t first,
                             std::size_t last,
                             std::size_t half);

/// Half width in samples of a moving mean that quiets the noise and moves no flank: a sixth of the
/// half width in all.
inline std::size_t quiet_half(double width_half_s, double dt) {
    return static_cast<std::size_t>(width_half_s / (12 * dt));
}

}  // namespace gw::trace
