#pragma once
/// Control charts over one stretch of an analyser's life, from one exchange to the next.
///
/// No stretch of "known good" points is assumed. Each point is held against the points before it:
/// u = normal deviate with the probability of Student's t of (y - mean before) / (s before sqrt(1 +
/// 1/m)) (Hawkins 1987, self-starting charts). While nothing changes these are exactly independent
/// standard normal deviates, so that false alarms come as seldom as chosen, from the first judged
/// point on. Sources: ISO 7870 (charts), Montgomery (EWMA, tabular CUSUM), run_length.hpp (limits).
#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "metrology/change_point.hpp"

namespace gw::metrology {

/// What the module is known to read: of a passport, in place of the points before.
struct ChartReference {
    double mean{}, sd{};
};

struct ChartLimits {
    double run_length{};                   ///< points between false alarms, of each chart
    double individuals{}, moving_range{};  ///< in standard deviations
    double lambda{}, ewma{};               ///< limit in standard deviations of the average
    double k{}, cusum{};                   ///< reference value and limit h, in standard deviations
};
/// The limits for a wanted run length: solved once, used for every chart of a page.
ChartLimits chart_limits(double run_length, double lambda = 0.2, double k = 0.5);

struct ChartOptions {
    std::size_t learning = 10;  ///< points that are only learned from; Grubbs (1 %) sets wild ones
                                ///< among them aside
    std::optional<ChartReference> reference;  ///< then every point is judged
    ChangeOptions change;
};

enum class ChartState {
    not_yet,     ///< too few points to judge any
    in_control,  ///< nothing signals
    outliers,    ///< single points only
    scatter,     ///< the range from point to point has grown
    shifted,     ///< EWMA or CUSUM signal; looking back shows no lasting change
    step,        ///< a lasting change of level
    drift,       ///< a change that goes on
};
std::string_view name(ChartState state);

struct ChartPoint {
    bool judged = false;     ///< false while learning
    bool set_aside = false;  ///< wild: beyond the limit (or by Grubbs while learning); kept, shown
    double u{};              ///< standard normal while nothing changes
    double ewma{};           ///< of u, in standard deviations of u
    double cusum_up{}, cusum_down{};
};

struct ChartSignal {
    std::size_t index{};  ///< where the chart crossed its limit
    std::size_t began{};  ///< where that excursion began (CUSUM left zero, EWMA left the mean)
    int direction{};      ///< +1 up, -1 down; 0 for the range
};

struct Chart {
    ChartState state = ChartState::not_yet;
    std::size_t n{}, needed{};  ///< points; the least that can be judged
    double mean{}, sd{};  ///< of what was learned from, until the first signal of EWMA or CUSUM
    double sigma_moving_range{};  ///< mean moving range / 1.128, of the same points (ISO 7870-2)
    std::vector<ChartPoint> points;
    std::vector<ChartSignal> individuals, moving_range, ewma, cusum;
    Change change;
};

/// time: growing; values: no gaps. A point beyond the individuals' limit counts as that limit in
/// EWMA and CUSUM: one wild run is an outlier, not a shift. Nothing is learned after EWMA or CUSUM
/// has signalled.
Chart control_chart(std::span<double const> time,
                    std::span<double const> values,
                    ChartLimits const& limits,
                    ChartOptions const& options = {});

/// Textbook forms, for known mean and standard deviation: the published examples are of these.
std::vector<double> ewma(std::span<double const> values, double start, double lambda);
struct Cusum {
    std::vector<double> up, down;
};
Cusum cusum(std::span<double const> values, double mean, double K);
/// Factor of s in the EWMA's limits after `t` points: sqrt(lambda/(2 - lambda) (1 - (1 -
/// lambda)^(2t))).
double ewma_deviation(double lambda, std::size_t t);
/// Of a sample of n normal values: E(s)/sigma and E(range)/sigma. n from 2.
double c4(std::size_t n);
double d2(std::size_t n);

}  // namespace gw::metrology
