#pragma once
/// The life of an analyser as series over time: from the results of `assay replay`, from a table of
/// readings, or from the visits in the store. Read once, then asked for stretches that are thinned
/// to what a screen can show, and for the control charts of its columns.
#include <functional>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <string_view>

#include "trace/series_table.hpp"
#include "visit/chart.hpp"

namespace gw::desk {

struct History {
    std::string id;      ///< SHA-256 of the bytes, or "analyser:TAG"
    std::string source;  ///< for messages and headings
    trace::SeriesTable series;
    [[nodiscard]] std::size_t bytes() const;  ///< held in memory, about
};

/// The table that `assay replay` writes (recognised by its header), else any table that `chart`
/// takes. Rows without a time are refused, but a replay of runs that state none is counted run by
/// run instead, with a warning; rows out of order are put in order. A row that failed has no
/// readings. Uncertainties ("u:...") and words are left out. A table of the other kind is read
/// by series_of(), with its limit.
/// let_go: told, now and then, how many of the first bytes are not looked at for now.
using LetGo = std::function<void(std::size_t)>;
Result<History> read_history(std::string_view bytes,
                             std::string const& name,
                             LetGo const& let_go = {});

/// "%", "mol%", "kg/m3", "s" where the name of a column says so; else empty.
std::string unit_of_series(std::string_view column);

/// {"id", "name", "start", "from_s", "to_s", "rows", "columns": [{"name", "unit", "count",
/// "lowest", "highest"}], "breaks": [{"at_s", "what"}], "warnings"}.
Json history_json(History const& history);

/// Readings of one column within [from_s, to_s] and one more on either side, at most `most` of
/// them, no extreme lost: as number_block() of times (s) and values.
struct HistoryStretch {
    std::string column;
    double from_s{}, to_s{};
    std::size_t most = 4000;  ///< kept within 4 and 20 000
};
Result<std::string> history_block(History const& history, HistoryStretch const& stretch);

/// The control charts of one column, as `chart` makes them of all columns together: {"charts":
/// [{"name", "corrected_for", "decides", "stretches": [{"event", "from_s", "to_s", "n", "state",
/// "centre", "sigma", "low", "high", "change": {"kind", "at_s", "interval_s", "before", "after",
/// "p_value"} or null, "signals": [{"at_s", "chart"}], "signals_in_all"}]}], "run_length",
/// "false_alarm_days", "warnings"}. At most 400 signals of a stretch are listed. Fails with
/// not_found.
Result<Json> history_chart(History const& history, std::string const& column);

}  // namespace gw::desk
