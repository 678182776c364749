#include "trace/series_table.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "base/text.hpp"
#include "gas/component.hpp"
#include "trace/table_text.hpp"

namespace gw::trace {

namespace {

enum class Role { instant, seconds, words, number };

struct Heading {
    Role role = Role::number;
    double seconds_per_unit = 1;
    std::string name;
};

// "retention:iC4" and "Retention: isobutane" are one column.
Result<std::string> known_name(std::string const& title_text, std::string const& where) {
    auto const colon = title_text.find(':');
    if (colon == std::string::npos) return lowered(trimmed(title_text));
    auto const kind = lowered(trimmed(std::string_view(title_text).substr(0, colon)));
    auto const of = std::string(trimmed(std::string_view(title_text).substr(colon + 1)));
    if (kind != "retention" && kind != "factor") return lowered(trimmed(title_text));
    GW_TRY(auto const component, gas::require_component(of, where));
    return kind + ":" + std::string(gas::name(component));
}

Result<Heading> heading_of(std::string const& cell, std::string const& where) {
    auto const text = lowered(trimmed(cell));
    if (text == "break" || text == "event" || text == "note") return Heading{Role::words, 1, text};
    if (text == "time" || text == "date" || text == "time (iso)")
        return Heading{Role::instant, 1, "time"};
    auto const parts = title(cell);
    if (parts.name == "time" || parts.name == "t") {
        auto const per = seconds_per(parts.unit.empty() ? "s" : parts.unit);
        if (!per)
            return fail(Errc::bad_input,
                        fmt::format("{} is no unit of time.", in_quotes(parts.unit)),
                        where,
                        "take time_s, or time with instants");
        return Heading{Role::seconds, *per, "time"};
    }
    GW_TRY(auto name, known_name(std::string(trimmed(cell)), where));
    return Heading{Role::number, 1, std::move(name)};
}

Delimiter delimiter_of(std::string_view header) {
    auto const seen = outside_quotes(header);
    for (auto const& [sign, delimiter] : {std::pair{'\t', Delimiter::tab},
                                          std::pair{';', Delimiter::semicolon},
                                          std::pair{',', Delimiter::comma}})
        if (seen.find(sign) != std::string::npos) return delimiter;
    return Delimiter::blanks;
}

struct Reader {
    SeriesTable table;
    std::vector<Heading> headings;
    std::vector<std::size_t> column_of;  // heading -> column, for numbers
    std::size_t time = 0;
    bool decimal_comma = false;
    std::string source;

    Result<> header(std::vector<std::string> const& cells, std::string const& where) {
        std::optional<std::size_t> at;
        bool words = false;
        for (std::size_t i = 0; i < cells.size(); ++i) {
            GW_TRY(auto heading, heading_of(cells[i], where));
            if (heading.role == Role::instant || heading.role == Role::seconds) {
                if (at)
                    return fail(Errc::bad_input,
                                "Two columns are titled as time.",
                                where,
                                "keep time or time_s");
                at = i;
            }
            column_of.push_back(table.columns.size());
            if (heading.role == Role::words) {
                if (words)
                    return fail(Errc::bad_input,
                                "Two columns hold words.",
                                where,
                                "keep one of break, event and note");
                words = true;
            }
            if (heading.role == Role::number) {
                if (table.find(heading.name) != nullptr)
                    return fail(Errc::bad_input,
                                fmt::format("The column {} stands here twice.", heading.name),
                                where,
                                "keep one of the two");
                table.columns.push_back({heading.name, {}, {}, {}});
            }
            headings.push_back(std::move(heading));
        }
        if (!at)
            return fail(Errc::bad_input,
                        "No column is titled time or time_s.",
                        where,
                        "begin with a header such as time_s,oven_c");
        if (table.columns.empty())
            return fail(Errc::bad_input,
                        "No column holds readings.",
                        where,
                        "add one, for example oven_c or factor:methane");
        time = *at;
        return {};
    }

    Result<double> seconds(std::string const& cell, std::string const& where) {
        // A column titled "time" may hold plain seconds.
        if (auto const number = cell_number(cell, decimal_comma);
            number && !(table.start && headings[time].role == Role::instant))
            return *number * headings[time].seconds_per_unit;
        if (headings[time].role == Role::seconds)
            return fail(Errc::bad_input,
                        fmt::format("{} is no time.", in_quotes(cell)),
                        where,
                        "write seconds as a number");
        GW_TRY(auto const instant, parse_instant(trimmed(cell), where));
        if (!table.start) {
            if (!table.t.empty())
                return fail(Errc::bad_input,
                            "Seconds and instants are mixed.",
                            where,
                            "write all times alike");
            table.start = instant;
        }
        return 1e-3 * static_cast<double>(instant.milliseconds - table.start->milliseconds);
    }

    Result<> row(std::vector<std::string> const& cells, std::string const& where) {
        if (cells.size() > headings.size())
            return fail(Errc::bad_input,
                        fmt::format("{} cells stand here, but the header has {} titles.",
                                    cells.size(),
                                    headings.size()),
                        where,
                        "quote cells that hold the delimiter");
        if (cells.size() <= time || trimmed(cells[time]).empty())
            return fail(Errc::bad_input, "This row has no time.", where, "add it");
        GW_TRY(double const t, seconds(cells[time], where));
        if (!(std::abs(t) < 1e12))  // thirty thousand years
            return fail(Errc::bad_input, "This is no time of a record.", where, "correct it");
        if (!table.t.empty() && !(t > table.t.back()))
            return fail(Errc::bad_input,
                        t < table.t.back() ? "Time runs backward." : "Two rows have the same time.",
                        where,
                        "put the rows in order");
        std::size_t const index = table.t.size();
        table.t.push_back(t);
        table.events.emplace_back();
        for (std::size_t i = 0; i < cells.size(); ++i) {
            if (i == time) continue;
            auto const cell = trimmed(cells[i]);
            if (cell.empty()) continue;
            if (headings[i].role == Role::words) {
                table.events.back() = std::string(cell);
                continue;
            }
            auto const value = cell_number(cell, decimal_comma);
            if (!value)
                return fail(Errc::bad_input,
                            fmt::format("{} is no number.", in_quotes(cell)),
                            where,
                            "correct it or leave the cell empty");
            auto& column = table.columns[column_of[i]];
            column.t.push_back(t);
            column.y.push_back(*value);
            column.row.push_back(index);
        }
        return {};
    }
};

}  // namespace

SeriesColumn const* SeriesTable::find(std::string_view name) const {
    for (auto const& column : columns)
        if (column.name == name) return &column;
    return nullptr;
}

std::string SeriesTable::time_text(double seconds) const {
    if (!start) return shortest(seconds);
    return to_text(Instant{start->milliseconds + static_cast<std::int64_t>(seconds * 1e3 + 0.5),
                           start->offset_minutes});
}

Result<SeriesTable> read_series(std::string_view bytes, std::string const& source) {
    GW_TRY(auto const text, decode_text(bytes, source));
    Reader reader;
    reader.source = source;
    LineReader lines(text);
    Line line;
    std::optional<Delimiter> delimiter;
    while (lines.next(line)) {
        if (trimmed(line.text).empty() || is_comment(line.text)) continue;
        auto const where = at_line(source, line.number);
        if (!delimiter) {
            delimiter = delimiter_of(line.text);
            reader.decimal_comma = false;
            GW_CHECK(reader.header(cells(line.text, *delimiter), where));
            continue;
        }
        // Where commas do not part the cells, a comma between digits is the decimal sign.
        if (*delimiter != Delimiter::comma && line.text.find(',') != std::string_view::npos &&
            line.text.find('.') == std::string_view::npos)
            reader.decimal_comma = true;
        GW_CHECK(reader.row(cells(line.text, *delimiter), where));
    }
    if (!delimiter)
        return fail(Errc::bad_input, "The series is empty.", source, "give a header and rows");
    if (reader.table.t.empty())
        return fail(
            Errc::bad_input, "The series has a header but no rows.", source, "add readings");
    return std::move(reader.table);
}

}  // namespace gw::trace
