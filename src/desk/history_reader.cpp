// The table of a replay: a hundred thousand rows and more, so read in one pass without a copy of
// its cells.
#include <fmt/format.h>

#include <algorithm>
#include <numeric>
#include <vector>

#include "base/base.hpp"
#include "desk/history.hpp"
#include "desk/load.hpp"
#include "trace/table_text.hpp"

namespace gw::desk {

namespace {

constexpr std::string_view replay_header = "run,start,unnormalised_total";

// The cells of a line as `assay replay` writes them; quotes stay on.
void cut(std::string_view line, std::vector<std::string_view>& out) {
    out.clear();
    bool quoted = false;
    std::size_t from = 0;
    for (std::size_t i = 0; i <= line.size(); ++i) {
        if (i < line.size() && line[i] == '"') quoted = !quoted;
        if (i < line.size() && (line[i] != ',' || quoted)) continue;
        out.push_back(line.substr(from, i - from));
        from = i + 1;
    }
}

std::string unquoted(std::string_view cell) {
    if (cell.size() >= 2 && cell.front() == '"' && cell.back() == '"')
        cell = cell.substr(1, cell.size() - 2);
    return std::string(cell);
}

// Readings of every row, in the order of the file; NaN where there is none.
struct Raw {
    std::vector<std::int64_t> at_ms;
    std::vector<std::vector<double>> columns;
    std::vector<std::size_t> cell;  ///< of each column
    std::vector<std::string> names;
    std::size_t failed = 0;
    bool timed = true;
    int offset_minutes = 0;
};

Result<Raw> read_rows(std::string_view bytes, std::string const& name, LetGo const& let_go) {
    constexpr std::size_t told_every = 1UL << 20;  // bytes
    std::size_t told = 0;
    Raw out;
    trace::LineReader lines(bytes);
    trace::Line line;
    std::vector<std::string_view> parts;
    (void)lines.next(line);
    cut(line.text, parts);
    std::size_t const width = parts.size();
    for (std::size_t c = 2; c < width; ++c) {
        auto title = unquoted(parts[c]);
        if (title == "warnings" || title.rfind("u:", 0) == 0) continue;
        out.names.push_back(std::move(title));
        out.cell.push_back(c);
    }
    out.columns.resize(out.names.size());
    while (lines.next(line)) {
        if (let_go && line.offset >= told + told_every) let_go(told = line.offset);
        if (trimmed(line.text).empty()) continue;
        cut(line.text, parts);
        auto const where = trace::at_line(name, line.number);
        if (parts.size() != width)
            return fail(
                Errc::bad_input,
                fmt::format("The row has {} columns; the header names {}.", parts.size(), width),
                where,
                "give the table as assay replay wrote it");
        if (trimmed(parts[1]).empty()) {
            out.timed = false;
            out.at_ms.push_back(0);
        } else {
            GW_TRY(auto const at, parse_instant(trimmed(parts[1]), where));
            if (out.at_ms.empty()) out.offset_minutes = at.offset_minutes;
            out.at_ms.push_back(at.milliseconds);
        }
        bool any = false;
        for (std::size_t k = 0; k < out.cell.size(); ++k) {
            auto const text = trimmed(parts[out.cell[k]]);
            double value = std::numeric_limits<double>::quiet_NaN();
            if (!text.empty()) {
                auto const number = parse_number(text);
                if (!number)
                    return fail(Errc::bad_input,
                                fmt::format("{} is not a number.", trace::in_quotes(text)),
                                where,
                                "give the table as assay replay wrote it");
                value = *number;
                any = true;
            }
            out.columns[k].push_back(value);
        }
        if (!any) ++out.failed;
    }
    if (out.at_ms.empty())
        return fail(Errc::bad_input, "There is no row under the header.", name, "replay some runs");
    return out;
}

History history_of(Raw raw, std::string const& name) {
    History out;
    out.source = name;
    auto& series = out.series;
    std::size_t const n = raw.at_ms.size();
    std::vector<std::size_t> order(n);
    std::iota(order.begin(), order.end(), std::size_t{0});
    if (raw.timed) {
        std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
            return raw.at_ms[a] < raw.at_ms[b];
        });
        // A series stands still nowhere: of runs that state the same time the first is taken.
        auto const same =
            std::unique(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
                return raw.at_ms[a] == raw.at_ms[b];
            });
        if (same != order.end())
            series.warnings.push_back(
                fmt::format("{} runs state a time that an earlier row has and are left out.",
                            std::distance(same, order.end())));
        order.erase(same, order.end());
        series.start = Instant{raw.at_ms[order.front()], raw.offset_minutes};
    } else {
        series.warnings.emplace_back(
            "Not every run states its time: runs are counted one by one instead.");
    }
    if (raw.failed > 0)
        series.warnings.push_back(
            fmt::format("{} of {} runs could not be valued and have no readings.", raw.failed, n));
    std::size_t const kept = order.size();
    for (std::size_t i = 0; i < kept; ++i)
        series.t.push_back(
            raw.timed ? 1e-3 * static_cast<double>(raw.at_ms[order[i]] - raw.at_ms[order.front()])
                      : static_cast<double>(i));
    series.events.resize(kept);
    for (std::size_t k = 0; k < raw.names.size(); ++k) {
        trace::SeriesColumn column;
        column.name = raw.names[k];
        column.t.reserve(kept);
        column.y.reserve(kept);
        column.row.reserve(kept);
        for (std::size_t i = 0; i < kept; ++i) {
            double const value = raw.columns[k][order[i]];
            if (!(value == value)) continue;
            column.t.push_back(series.t[i]);
            column.y.push_back(value);
            column.row.push_back(i);
        }
        std::vector<double>().swap(raw.columns[k]);
        if (!column.y.empty()) series.columns.push_back(std::move(column));
    }
    return out;
}

}  // namespace

Result<History> read_history(std::string_view bytes, std::string const& name, LetGo const& let_go) {
    History out;
    auto const id = sha256(bytes);
    if (let_go) let_go(bytes.size());
    if (bytes.substr(0, replay_header.size()) == replay_header) {
        GW_TRY(auto raw, read_rows(bytes, name, let_go));
        out = history_of(std::move(raw), name);
    } else {
        GW_TRY(out.series, series_of(bytes, name));
        out.source = name;
    }
    if (out.series.columns.empty())
        return fail(Errc::bad_input, "No column holds readings.", name, "give times and readings");
    out.id = id;
    return out;
}

}  // namespace gw::desk
