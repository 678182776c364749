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

struct ChartOptions {
    /// Readings between false alarms of one chart. 370: as 3 sigma. Choose it in days: with eleven
    /// components and one reading a day 370 is about one false alarm a month.
    double run_length = 370;
    double lambda = 0.2;         ///< weight of the EWMA, ISO 7870-6
    double k = 0.5;              ///< allowance of the CUSUM, sigma: half the shift to be found
    std::size_t reference = 25;  ///< first readings of a stretch that set centre and sigma
    bool ratios = false;         ///< chart factors over that of methane
    std::optional<double> reference_kpa;  ///< pressure the total is brought to; none: the first
    std::vector<double> breaks;           ///< seconds; beside those of the table
    std::vector<std::string> columns;     ///< which to chart; empty: all
};

struct CusumSignal {
    double at{}, began{};  ///< time of the signal, and of the first reading of the run behind it
    bool upward = false;
};

struct ChartStretch {
    std::string event;  ///< what began it; empty for the first
    std::vector<double> t, y;
    bool enough = false;  ///< eight readings, and scatter: charts are drawn and may signal
    metrology::ChartBase base;
    double limit = 3;  ///< of individuals, sigma
    double ewma_limit{}, cusum_limit{};
    std::vector<metrology::EwmaPoint> ewma;
    std::vector<double> individual_signals, range_signals, ewma_signals;  ///< times
    std::vector<CusumSignal> cusum_signals;
    metrology::ChangePoint change;
};

struct Chart {
    std::string name, corrected_for;  ///< "", "barometer" or "methane"
    std::vector<ChartStretch> stretches;
};

struct Charts {
    std::vector<Chart> charts;
    std::vector<std::string> warnings;
};

/// A break begins at a row whose word column is not empty, and at every time of options.breaks.
/// `total` is charted once more as total x p_ref / p when ambient_kpa is there: an amount injected
/// at the pressure of the air goes with it. The column of pressure itself is not charted.
Result<Charts> charts(trace::SeriesTable const& series, ChartOptions const& options);

Json charts_json(Charts const& charts,
                 trace::SeriesTable const& series,
                 ChartOptions const& options);
std::string charts_text(Charts const& charts, trace::SeriesTable const& series);

}  // namespace gw::visit
