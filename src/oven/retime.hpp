#pragma once
/// Which times the valve events should have: the window in which no peak is cut, and its middle.
#include <optional>
#include <string>
#include <vector>

#include "oven/cut_losses.hpp"

namespace gw::oven {

struct RetimeOptions {
    double limit = 1e-3;        ///< contract: 0.1 % of a peak's area lost or gained
    double minor_limit = 5e-3;  ///< contract: 0.5 % for peaks
    double minor_below = 1e-3;  ///< below 0.1 mol%
    double reach_s = 10;        ///< an event is first searched this far around where it stands
    double scan_step_s = 0.5;   ///< narrower windows are looked for with a finer scan
    /// Not clean when even at the event's best a peak is this much worse off than it would be
    /// within so many seconds of it: then one peak is only saved at the cost of another.
    double gross = 0.01, neighbourhood_s = 4;
    double edge_s = 0.01;      ///< edges are found to this
    double time_step_s = 0.1;  ///< what the analyser accepts
    double keep_clear_s = 3;   ///< from the only edge of a window that is open to one side
    int rounds = 4;  ///< of moving every event to its window's middle; fewer when nothing moves
};

struct EventWindow {
    std::string action;
    double from_s{};     ///< as it stood
    double at_s{};       ///< proposed
    bool fixed = false;  ///< the injection: it is the zero of time
    bool feasible = true;
    std::optional<double> earliest_s, latest_s;
    std::string limited_by;  ///< of both edges, or what the best compromise loses
    std::string sentence;
};

/// Two events that open and close the same thing, moved together.
struct JointWindow {
    std::string first, second;
    std::optional<double> earliest_s, latest_s;  ///< shift of both, s
};

struct Retimed {
    std::vector<EventWindow> programme;
    std::vector<JointWindow> joint;
    std::vector<PeakShare> before, after;
    double cv_before{}, cv_after{};  ///< error of the superior calorific value by volume, relative,
                                     ///< if every factor were right
    Oven oven;                       ///< with the proposed programme
    int simulations{};
};

/// Relative error of the calorific value when every area, as integrated between the valleys, is
/// valued with the right factor and the composition is normalised.
double calorific_value_error(std::vector<PeakShare> const& shares,
                             Oven const& oven,
                             std::vector<double> const& amounts);

Retimed retime(Oven const& oven,
               std::vector<double> const& amounts,
               RetimeOptions const& options = {});

}  // namespace gw::oven
