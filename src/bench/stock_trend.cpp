#include "bench/stock_trend.hpp"

#include <algorithm>
#include <cmath>

#include "metrology/metrology.hpp"

namespace gw::bench {

StockTrend stock_trend(std::vector<StockReading> readings,
                       double least_kpa,
                       double now,
                       StockTrendOptions const& options) {
    StockTrend out;
    std::stable_sort(readings.begin(), readings.end(), [](auto const& a, auto const& b) {
        return a.day < b.day;
    });
    std::size_t first = 0;
    for (std::size_t i = 1; i < readings.size(); ++i)
        if (readings[i].kpa > (1 + options.filled_above) * readings[i - 1].kpa) first = i;
    readings.erase(readings.begin(), readings.begin() + static_cast<std::ptrdiff_t>(first));
    out.readings = readings.size();
    if (readings.empty()) {
        out.why = "No pressure was read.";
        return out;
    }
    if (readings.back().kpa <= least_kpa) {
        out.days = 0;
        return out;
    }
    if (readings.size() < 2 || readings.back().day - readings.front().day < options.least_days) {
        out.why = "Two readings at least a day apart show how fast it falls.";
        return out;
    }
    out.at_one_temperature = std::all_of(
        readings.begin(), readings.end(), [](auto const& r) { return r.celsius.has_value(); });
    std::vector<double> day, kpa;
    for (auto const& r : readings) {
        double const to_last = out.at_one_temperature
                                   ? (*readings.back().celsius + 273.15) / (*r.celsius + 273.15)
                                   : 1.0;
        day.push_back(r.day);
        kpa.push_back(r.kpa * to_last);
    }
    double const mean_day = metrology::mean(day), mean_kpa = metrology::mean(kpa);
    double xx = 0, xy = 0;
    for (std::size_t i = 0; i < day.size(); ++i) {
        xx += (day[i] - mean_day) * (day[i] - mean_day);
        xy += (day[i] - mean_day) * (kpa[i] - mean_kpa);
    }
    if (!(xx > 0)) {
        out.why = "Two readings at least a day apart show how fast it falls.";
        return out;
    }
    double const fall = -xy / xx;
    if (!(fall > 0)) {
        out.why = "Its readings do not fall: at this rate it lasts as long as its certificate.";
        return out;
    }
    out.kpa_per_day = fall;
    // Counted from the last reading itself: the line is for the rate.
    double const room = readings.back().kpa - least_kpa, since = now - readings.back().day;
    auto const left = [&](double rate) { return std::max(0.0, room / rate - since); };
    out.days = left(fall);
    if (day.size() < 3) return out;
    double rss = 0;
    for (std::size_t i = 0; i < day.size(); ++i) {
        double const e = kpa[i] - (mean_kpa - fall * (day[i] - mean_day));
        rss += e * e;
    }
    auto const freedom = static_cast<double>(day.size() - 2);
    double const k = metrology::student_t(0.5 + 0.5 * options.confidence, freedom);
    double const u = k * std::sqrt(rss / freedom / xx);
    out.from = left(fall + u);
    if (fall > u) out.to = left(fall - u);
    return out;
}

}  // namespace gw::bench
