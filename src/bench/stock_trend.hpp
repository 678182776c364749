#pragma once
/// How long a cylinder lasts by its own readings: the fall of its pressure since it was last filled
/// or exchanged, on to the least pressure it may be used at.
#include <optional>
#include <string>
#include <vector>

namespace gw::bench {

struct StockReading {
    double day{};                   ///< from any zero
    double kpa{};                   ///< absolute
    std::optional<double> celsius;  ///< of the cylinder
};

struct StockTrendOptions {
    double filled_above = 0.05;  ///< a rise by more than this share is a filling or another
                                 ///< cylinder (common practice, no source)
    double least_days = 1;       ///< readings closer together say nothing of use
    double confidence = 0.95;
};

struct StockTrend {
    std::size_t readings{};             ///< that were used
    std::optional<double> kpa_per_day;  ///< what it falls, above 0
    std::optional<double> days;         ///< from `now` to the least pressure; 0 when it is there
    std::optional<double> from, to;     ///< of that confidence; `to` none: it may not fall at all
    bool at_one_temperature = false;    ///< brought to the last reading's: p T0 / T (ideal gas)
    std::string why;                    ///< when nothing can be said; else ""
};

/// readings in any order; now: a day of the same zero, at or after the last of them. A straight
/// line by least squares; its slope's Student law gives from and to with three readings or more.
StockTrend stock_trend(std::vector<StockReading> readings,
                       double least_kpa,
                       double now,
                       StockTrendOptions const& options = {});

}  // namespace gw::bench
