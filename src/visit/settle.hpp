#pragma once
/// Has the analyser come to rest after heating, a change of gas or a repair? Judged on every
/// observable at once, so that a heater that hangs, a leak or the weather is not taken for
/// settling.
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "base/json.hpp"
#include "metrology/settling.hpp"
#include "trace/series_table.hpp"

namespace gw::visit {

/// Largest change still to come that is allowed, by column title, in the unit of the column.
using SettleLimits = std::map<std::string, double>;

/// A limits file: {"oven_c": 0.05, "retention:methane": 0.1, ...}; "schema" is passed over.
Result<SettleLimits> read_settle_limits(Field const& root);
/// Without a file: oven 0.05 degC, retention 0.1 s, factors 0.1 % of the last value, total 0.05
/// mol%, baseline 0.1 of its unit. Common practice, no source.
std::optional<double> usual_limit(trace::SeriesColumn const& column);

struct SettledQuantity {
    std::string name;
    std::optional<double> limit;  ///< none: told, not judged
    metrology::Approach approach;
};

struct Settlement {
    bool settled = false;                                  ///< every judged quantity is
    std::optional<double> ready_at, ready_from, ready_to;  ///< seconds from the table's t = 0
    std::vector<SettledQuantity> quantities;
    std::vector<std::string> warnings;
    std::vector<std::string>
        causes;  ///< of "heater", "leak", "barometer", "swing": what it looks like
};

/// limits: none: the usual ones. A column without limit in a given set is told, not judged; with no
/// judged column nothing is settled. curve_points: of each fitted curve, for a picture; 0: none.
Settlement settle(trace::SeriesTable const& series,
                  std::optional<SettleLimits> const& limits,
                  std::size_t curve_points = 0);

Json settlement_json(Settlement const& settlement, trace::SeriesTable const& series);
/// The same as a picture needs it, all times in seconds from the table's first row: {"settled",
/// "ready": null|{"at_s", "from_s", "to_s"}, "looks_like", "warnings", "quantities": [{"name",
/// "unit", "limit", "settled", "motion", "time_constant_s", "remaining_change", "end_value",
/// "ready_at_s", "at_s", "values", "used", "curve": [{"t_s", "y", "low", "high"}]}]}. Readings are
/// thinned to `most` a quantity; used: false for one that stood out and was set aside.
Json settlement_picture_json(Settlement const& settlement,
                             trace::SeriesTable const& series,
                             std::size_t most = 600);
std::string settlement_text(Settlement const& settlement, trace::SeriesTable const& series);

}  // namespace gw::visit
