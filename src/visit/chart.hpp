#pragma once
/// The life of an analyser as control charts: restarted at every exchange, each with a chosen rate
/// of false alarms, and the date at which a drift began.
#include <optional>
#include <string>
#include <vector>

#include "base/json.hpp"
#include "metrology/control_chart.hpp"
#include "trace/series_table.hpp"

namespace gw::visit {

/// What the module is known to read, of its passport, by the name of the column.
struct ChartPassport {
    std::string name;
    metrology::ChartReference reference;
};

struct ChartOptions {
    /// Days between false alarms of all charts of the series together. A call-out costs a day: ten
    /// years is rare enough for a dozen columns looked at every day (common practice, no source).
    double false_alarm_days = 3650;
    std::optional<double> run_length;  ///< readings, of each chart; instead of false_alarm_days
    double lambda = 0.2;               ///< weight of the EWMA, ISO 7870-6
    double k = 0.5;                    ///< allowance of the CUSUM, sigma: half the shift looked for
    std::size_t learning = 10;         ///< first readings of a stretch that are only learned from
    double significance = 0.01;        ///< of a change found looking back, all charts together
    bool ratios = false;               ///< chart factors over that of methane
    std::optional<double> reference_kpa;  ///< pressure the total is brought to; none: the first
    std::vector<double> breaks;           ///< seconds; beside those of the table
    std::vector<std::string> columns;     ///< which to chart; empty: all
    /// Judges and answers this column alone, as it would be judged among all of `columns`: limits
    /// and significance are shared by every chart of the series. Empty: all are answered.
    std::string only;
    std::vector<ChartPassport> passport;  ///< for the stretch after the last break
    /// false: what was judged of every single point is let go once its chart is done; signals and
    /// figures stay. A year of runs is then a few megabytes instead of a hundred.
    bool keep_points = true;
};

/// Reads {"total": {"mean", "sd"}, ...}, or the same inside "quantities".
Result<std::vector<ChartPassport>> read_chart_passport(Field const& root);

struct ChartStretch {
    std::string event;  ///< what began it; empty for the first
    std::vector<double> t, y;
    bool passport = false;
    metrology::Chart chart;

    [[nodiscard]] bool judged() const {
        return chart.state != metrology::ChartState::not_yet && chart.sd > 0;
    }
};

struct Chart {
    std::string name, corrected_for;  ///< "", "barometer" or "methane"
    bool decides = true;  ///< false: a corrected chart of the same column stands beside it
    std::vector<ChartStretch> stretches;
};

struct Charts {
    metrology::ChartLimits limits;
    double false_alarm_days{};  ///< what the run length comes to, all deciding charts together
    std::vector<Chart> charts;
    std::vector<std::string> warnings;
};

/// A break begins at a row whose word column is not empty, and at every time of options.breaks.
/// `total` is charted once more as total x p_ref / p when ambient_kpa is there: an amount injected
/// at the pressure of the air goes with it, and the corrected chart decides. The column of pressure
/// itself is not charted.
Result<Charts> charts(trace::SeriesTable const& series, ChartOptions const& options);

Json charts_json(Charts const& charts,
                 trace::SeriesTable const& series,
                 ChartOptions const& options);
std::string charts_text(Charts const& charts, trace::SeriesTable const& series);

}  // namespace gw::visit
