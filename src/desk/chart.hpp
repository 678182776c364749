#pragma once
/// The use-case behind `gaswright chart`.
#include <optional>
#include <string>
#include <vector>

#include "visit/chart.hpp"

namespace gw::desk {

struct ChartRequest {
    std::vector<std::string> series;
    visit::ChartOptions options;          ///< breaks come from `breaks`
    std::vector<std::string> breaks;      ///< as the series write time
    std::optional<std::string> passport;  ///< file: what the module is known to read
    std::optional<std::string> output;    ///< figure: .svg, .png or .pdf; one series only
};
struct ChartedSeries {
    std::string source;
    trace::SeriesTable table;
    visit::Charts charts;
};
struct ChartAnswer {
    std::vector<ChartedSeries> series;
    std::optional<std::string> drawn;
};
Result<ChartAnswer> chart(ChartRequest const& request);
/// One series: its charts at the top level; more: under "series".
Json chart_json(ChartAnswer const& answer, ChartRequest const& request);
std::string chart_text(ChartAnswer const& answer);

}  // namespace gw::desk
