#pragma once
/// Is a quantity still on its way, how far has it to go, and when will it be there? An approach is
/// first order (one exponential), second order (two exponentials, or a damped swing); what goes on
/// at a steady rate or wanders is no approach and is told apart.
#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace gw::metrology {

enum class Motion {
    too_few,       ///< fewer than 8 readings: nothing is said
    still,         ///< no movement beyond the scatter
    first_order,   ///< a + b exp(-t/tau)
    second_order,  ///< a + b exp(-t/tau) + c exp(-t/tau2): overshoot included
    damped_swing,  ///< a + exp(-t/tau) (b cos wt + c sin wt)
    drift,         ///< goes on at a steady rate: no end is in sight
    wander,        ///< moves to and fro without coming to rest
};

struct ApproachOptions {
    double confidence = 0.95;       ///< for "settled" and for the interval of the ready time
    std::size_t most_points = 600;  ///< more readings are averaged in equal steps of time first
    std::size_t curve_points = 0;   ///< of the curve to draw, at least 2; 0: none is made
};

/// The fitted curve at one time, with the interval of that confidence in which it runs: of the
/// curve, not of single readings.
struct CurvePoint {
    double t{}, y{}, low{}, high{};
};

struct Approach {
    Motion motion = Motion::too_few;
    std::optional<double> time_constant;     ///< the slow one, unit of time
    std::optional<double> remaining_change;  ///< end value less present value, unit of the reading
    std::optional<double> end_value;
    bool settled = false;  ///< the remaining change is under the limit with the stated confidence
    std::optional<double> ready_at;              ///< when it falls or fell under the limit for good
    std::optional<double> ready_from, ready_to;  ///< interval of that confidence
    double rate = 0;  ///< slope of a straight line through all, per unit of time
    double rate_u = 0;
    double scatter = 0;      ///< standard deviation of the residuals
    double correlation = 0;  ///< lag-1 correlation of the residuals
    bool abrupt = false;     ///< came to rest without slowing: only the later half is described
    std::vector<std::size_t> set_aside;  ///< readings that stand out, by index: not used
    /// When asked for, and where a curve was fitted (not when it wanders): from the first reading
    /// to a quarter of the record beyond the last, or to the end of the ready time's interval, at
    /// most three records beyond.
    std::vector<CurvePoint> curve;
};

/// t: rising; y: readings; limit: largest change still to come that is allowed, above 0.
/// The ready time has a posterior distribution: log-uniform over the time constant, Student over
/// the amplitudes; interval and verdict are its quantiles. Residuals that hang together count for
/// fewer.
Approach approach(std::span<double const> t,
                  std::span<double const> y,
                  double limit,
                  ApproachOptions const& options = {});

}  // namespace gw::metrology
