#pragma once
/// Looking back over a series: did its level change, how (at once, or creeping), and since when?
#include <cstddef>
#include <cstdint>
#include <span>
#include <string_view>

namespace gw::metrology {

enum class ChangeKind { none, step, drift };
std::string_view name(ChangeKind kind);

struct ChangeOptions {
    double significance = 0.01;  ///< chance of finding a change in a series that has none
    std::size_t trials = 1000;   ///< of the series without change that it is held against
    std::size_t blocks = 400;    ///< a longer series is first averaged to so many points
    std::uint64_t seed = 1;
};

/// One way to describe the change. at, from, to: time of the series; [from, to] holds the true
/// onset with probability 95 %.
struct ChangeModel {
    double at{}, from{}, to{};
    double size{}, u_size{};  ///< change of level from before `at` to the end, with its u
    double slope{};           ///< of a drift, unit per unit of time; 0 of a step
    double sum_of_squares{};  ///< of the residuals
};

struct Change {
    ChangeKind kind = ChangeKind::none;  ///< none also when there are too few points to say
    double p_value = 1;  ///< that a series without change looks this changed; rough where it is far
                         ///< above the significance
    double before{};     ///< level before the change; of all points when there is none
    ChangeModel step, drift;  ///< both, whichever fits better
    double correlation{};     ///< of neighbouring residuals; above 0 the intervals are widened
    std::size_t points{};     ///< that were compared, after averaging
    bool enough = false;      ///< false below `least_points`

    [[nodiscard]] ChangeModel const& chosen() const {
        return kind == ChangeKind::step ? step : drift;
    }
};

/// Three on either side of a step, and some to know the scatter.
inline constexpr std::size_t change_least_points = 10;

/// time: growing; values: same length, independent and normal about their level. Step: two means.
/// Drift: a level, then a straight line from the onset on (no jump); onset between points too. The
/// better fit of the two is held against the best fits to `trials` series without change at the
/// same times, so that its p-value allows for the choice of model and date. Interval of a drift's
/// onset: where the sum of squares stays within F(0.95; 1, n - 3); of a step: likelihood ratio
/// within 7.35 (Hansen 2000, Econometrica 68, p. 582, 95 %). Where neighbouring residuals are
/// correlated (r beyond 2/sqrt n) variances grow by (1 + r)/(1 - r), as for a first-order process.
Change find_change(std::span<double const> time,
                   std::span<double const> values,
                   ChangeOptions const& options = {});

}  // namespace gw::metrology
