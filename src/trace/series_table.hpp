#pragma once
/// A table of readings over time: what `settle` and `chart` take. CSV in any usual dialect.
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.hpp"
#include "base/time.hpp"

namespace gw::trace {

struct SeriesColumn {
    std::string name;          ///< as titled; components under their usual names
    std::vector<double> t, y;  ///< readings that are there: seconds from the first row, and value
    std::vector<std::size_t> row;  ///< the row of each, from 0
};

struct SeriesTable {
    std::vector<double> t;         ///< seconds, one per row; `time_s` as written
    std::optional<Instant> start;  ///< of t = 0, when times are instants
    std::vector<SeriesColumn> columns;
    std::vector<std::string>
        events;  ///< per row, of a column titled break, event or note; else empty
    std::vector<std::string> warnings;

    [[nodiscard]] SeriesColumn const* find(std::string_view name) const;
    /// A time as the file writes times: an instant, or seconds as a number.
    [[nodiscard]] std::string time_text(double seconds) const;
};

/// First a header, then rows. One column is `time` (ISO 8601 with offset) or `time_s` (also
/// time_min, time_h); a column titled break, event or note holds words; every other column holds
/// numbers. Titles "retention:NAME" and "factor:NAME" are known by component. An empty cell is no
/// reading. Refuses time that stands still or runs backward, and text where a number should be.
Result<SeriesTable> read_series(std::string_view bytes, std::string const& source);

}  // namespace gw::trace
