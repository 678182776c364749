#include "trace/trace_layout.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "base/text.hpp"
#include "trace/trace_block.hpp"

namespace gw::trace {

namespace {

constexpr std::size_t most_columns = 64;

/// The titles and units above the columns; empty strings where nothing is said.
struct Headings {
    std::vector<Title> titles;
    std::vector<std::string> units;
    std::size_t line = 0;  ///< of the titles; 0 when there are none
};

bool text_only(std::vector<std::string> const& parts) {
    return std::ranges::none_of(
        parts, [](auto const& part) { return cell_number(part, false).has_value(); });
}

std::string bare_unit(std::string_view cell) {
    auto const parts = title(cell);
    return std::string(parts.explicit_unit && parts.name.empty() ? std::string_view(parts.unit)
                                                                 : trimmed(cell));
}

bool is_units_row(std::vector<std::string> const& parts) {
    bool known = false;
    for (auto const& part : parts) {
        auto const unit = bare_unit(part);
        bool const is_known = seconds_per(unit) || is_signal_unit(unit);
        bool const in_brackets = !part.empty() && (part.front() == '(' || part.front() == '[');
        if (!part.empty() && !is_known && !in_brackets) return false;
        known = known || is_known || in_brackets;
    }
    return known;
}

/// The cells of a line above the rows, or nothing when it cannot be their heading.
std::vector<std::string> heading_cells(std::string_view line, Dialect const& dialect) {
    auto parts = cells(line, dialect.delimiter);
    if (parts.size() == dialect.columns + 1 && parts.back().empty()) parts.pop_back();
    if (dialect.delimiter == Delimiter::blanks && parts.size() > dialect.columns) {
        std::vector<std::string> merged;  // "Time (min)" is one title
        for (auto const& part : parts) {
            if (!merged.empty() && !part.empty() && (part.front() == '(' || part.front() == '['))
                merged.back() += " " + part;
            else
                merged.push_back(part);
        }
        parts = merged;
        if (parts.size() != dialect.columns) parts = cells(line, Delimiter::wide_blanks);
    }
    if (dialect.delimiter == Delimiter::none) parts = {std::string(trimmed(line))};
    return parts.size() == dialect.columns && text_only(parts) ? parts : std::vector<std::string>{};
}

/// Titles that no line of a preamble would hold by chance.
bool names_columns(std::vector<std::string> const& parts) {
    if (parts.empty() || std::ranges::any_of(parts, [](auto const& part) {
            return part.find(':') != std::string::npos;
        }))
        return false;
    bool const time = std::ranges::any_of(parts, names_time);
    bool const signal = std::ranges::any_of(parts, names_signal);
    bool const unit = std::ranges::any_of(
        parts, [](auto const& part) { return names_time(part) && !title(part).unit.empty(); });
    return parts.size() == 1 ? title(parts.front()).name == "signal" : time && (signal || unit);
}

Result<Headings> headings(NumberBlock const& block,
                          Dialect const& dialect,
                          std::string const& source) {
    Headings out;
    auto const& above = block.above;
    // The last line that clearly names the columns must be followed by the rows, or by one row of
    // units: a broken first row must not pass for a preamble.
    for (std::size_t i = above.size(); i-- > 0;) {
        auto const parts = heading_cells(above[i].text, dialect);
        if (!names_columns(parts) ||
            (is_units_row(parts) && i > 0 && !heading_cells(above[i - 1].text, dialect).empty()))
            continue;
        for (std::size_t k = i + 1; k < above.size(); ++k) {
            auto const units = heading_cells(above[k].text, dialect);
            if (k == i + 1 && !units.empty() && is_units_row(units)) {
                for (auto const& unit : units) out.units.push_back(bare_unit(unit));
                continue;
            }
            return fail(Errc::bad_input,
                        fmt::format("Numbers are needed here, not {}.", in_quotes(above[k].text)),
                        at_line(source, above[k].number),
                        "mend or remove the row");
        }
        for (auto const& part : parts) out.titles.push_back(title(part));
        out.line = above[i].number;
        return out;
    }
    // Without titles, rows like those of the block above a line of text are rows cut off by it.
    for (auto i : block.looks_like_row) {
        if (dialect.columns < 2 || row_cells(above[i].text, dialect).size() != dialect.columns)
            continue;
        while (i + 1 < above.size() &&
               std::ranges::find(block.looks_like_row, i) != block.looks_like_row.end())
            ++i;
        return fail(Errc::bad_input,
                    fmt::format("Numbers are needed here, not {}.", in_quotes(above[i].text)),
                    at_line(source, above[i].number),
                    "mend or remove the row");
    }
    if (above.empty()) return out;
    auto const last = cells(above.back().text, dialect.delimiter);
    if (last.size() > 1 && last.size() != dialect.columns &&
        heading_cells(above.back().text, dialect).empty() && names_columns(last))
        return fail(
            Errc::bad_input,
            fmt::format(
                "The titles name {} columns, but the rows have {}.", last.size(), dialect.columns),
            at_line(source, above.back().number),
            "export again with one delimiter throughout");
    if (last.size() == dialect.columns && last.size() > 1 &&
        cell_number(last.front(), dialect.decimal_comma))
        return fail(Errc::bad_input,
                    fmt::format("Numbers are needed here, not {}.", in_quotes(above.back().text)),
                    at_line(source, above.back().number),
                    "mend or remove the row");
    auto titles = heading_cells(above.back().text, dialect);
    if (titles.empty()) return out;
    // Between blanks any two words look like two titles: there a known word must vouch for them.
    if (dialect.delimiter == Delimiter::blanks && !is_units_row(titles) &&
        std::ranges::none_of(titles, [](auto const& part) {
            return names_time(part) || names_signal(part) || is_signal_unit(title(part).unit);
        }))
        return out;
    out.line = above.back().number;
    if (is_units_row(titles) && above.size() > 1) {
        auto const over = heading_cells(above[above.size() - 2].text, dialect);
        for (auto const& unit : titles) out.units.push_back(bare_unit(unit));
        if (!over.empty()) titles = over;
    }
    for (auto const& part : titles) out.titles.push_back(title(part));
    return out;
}

bool names_index(std::string_view name) {
    static constexpr std::array<std::string_view, 13> words = {"index",
                                                               "idx",
                                                               "point",
                                                               "points",
                                                               "#",
                                                               "no",
                                                               "no.",
                                                               "nr",
                                                               "nr.",
                                                               "n",
                                                               "number",
                                                               "row",
                                                               "sample"};
    return std::ranges::find(words, name) != words.end();
}

using Sampled = std::vector<std::vector<std::optional<double>>>;  // by column

bool counts_rows(std::vector<std::optional<double>> const& column) {
    for (std::size_t i = 1; i < column.size(); ++i)
        if (!column[i] || !column[i - 1] || *column[i] != *column[i - 1] + 1) return false;
    return column.size() > 1;
}

/// Nine of ten steps are alike: enough for gaps, rounding and one wrong row, which is then refused
/// by its line instead of hiding the time column.
bool grows_evenly(std::vector<std::optional<double>> const& column) {
    std::vector<double> steps;
    for (std::size_t i = 1; i < column.size(); ++i)
        if (column[i] && column[i - 1]) steps.push_back(*column[i] - *column[i - 1]);
    if (steps.size() < 2) return false;
    auto sorted = steps;
    std::ranges::sort(sorted);
    double const median = sorted[sorted.size() / 2];
    auto const alike = std::ranges::count_if(
        steps, [&](double step) { return step >= 0.4 * median && step <= 2.1 * median; });
    return median > 0 && 10 * static_cast<std::size_t>(alike) >= 9 * steps.size();
}

std::optional<std::size_t> find_time_column(Headings const& heads, Sampled const& sampled) {
    auto const columns = sampled.size();
    for (std::size_t c = 0; c < columns && !heads.titles.empty(); ++c)
        if (names_time(heads.titles[c].name) || seconds_per(heads.titles[c].unit)) return c;
    for (std::size_t c = 0; c < columns && !heads.units.empty(); ++c)
        if (seconds_per(heads.units[c])) return c;
    if (columns == 1) return std::nullopt;
    bool const index_first = counts_rows(sampled[0]) && columns > 2 && grows_evenly(sampled[1]);
    for (std::size_t c = index_first ? 1 : 0; c < columns; ++c) {
        if (!heads.titles.empty()) {
            if (names_signal(heads.titles[c].name) || is_signal_unit(heads.titles[c].unit))
                continue;
            if (names_index(heads.titles[c].name) && counts_rows(sampled[c])) continue;
        } else if (c > (index_first ? 1U : 0U)) {
            break;  // without titles only the first column can be time
        }
        if (grows_evenly(sampled[c])) return c;
    }
    return std::nullopt;
}

/// Seconds per unit of the time column, from its title, the row of units or the header.
Result<double> time_scale(Layout const& layout,
                          Headings const& heads,
                          std::size_t column,
                          std::string const& source) {
    std::string unit;
    if (!heads.titles.empty()) unit = heads.titles[column].unit;
    if (unit.empty() && !heads.units.empty()) unit = heads.units[column];
    if (unit.empty() && !heads.titles.empty() && seconds_per(heads.titles[column].name))
        unit = heads.titles[column].name;
    auto const stated = layout.header.find("time_unit");
    if (unit.empty() && stated != layout.header.end()) unit = stated->second;
    if (unit.empty()) return 1.0;
    auto const scale = seconds_per(unit);
    if (!scale)
        return fail(Errc::bad_input,
                    fmt::format("The time unit {} is not known.", in_quotes(unit)),
                    at_line(source, heads.line),
                    "use s, min, ms or h");
    if (stated != layout.header.end() && seconds_per(stated->second) != scale)
        return fail(Errc::bad_input,
                    fmt::format("The header says time is in {}, the column says {}.",
                                in_quotes(stated->second),
                                in_quotes(unit)),
                    at_line(source, heads.line),
                    "keep the right one");
    return *scale;
}

/// "# rate_hz: 50", "# interval: 20 ms" and their spellings; seconds.
Result<std::optional<double>> stated_interval(Layout const& layout, std::string const& source) {
    for (auto const& [key, is_rate] : {std::pair("interval_s", false),
                                       std::pair("interval", false),
                                       std::pair("rate_hz", true),
                                       std::pair("sample_rate_hz", true),
                                       std::pair("sampling_rate_hz", true)}) {
        auto const found = layout.header.find(key);
        if (found == layout.header.end()) continue;
        auto const text = trimmed(found->second);
        auto const number_end = std::min(text.find_first_not_of("+-.0123456789eE"), text.size());
        auto const value = parse_number(text.substr(0, number_end));
        auto const unit = lowered(trimmed(text.substr(number_end)));
        double const scale = unit.empty() || (is_rate && unit == "hz") ? 1.0
                             : is_rate                                 ? 0.0
                                       : seconds_per(unit).value_or(0.0);
        if (value && *value > 0 && scale > 0)
            return std::optional(is_rate ? 1.0 / *value : *value * scale);
        auto const line = layout.header_line.find(key);
        if (line != layout.header_line.end())  // a preamble may mean anything by the word
            return fail(
                Errc::bad_input,
                fmt::format(
                    "{} is no positive {}.", in_quotes(text), is_rate ? "rate in Hz" : "interval"),
                at_line(source, line->second),
                "correct it, for example \"# rate_hz: 50\"");
    }
    return std::optional<double>();
}

void keep_entries(NumberBlock const& block, Layout& layout) {
    for (auto const& line : block.above)
        if (auto entry = key_and_value(line.text)) layout.header.insert(std::move(*entry));
    for (auto const& line : block.comments)
        if (auto entry = comment_entry(line.text)) {
            layout.header_line[entry->first] = line.number;
            layout.header[entry->first] = std::move(entry->second);
        }
}

/// A second time column may only repeat the first in another unit.
Result<> skip_repeated_time(Layout& layout,
                            Headings const& heads,
                            Sampled const& sampled,
                            std::size_t time,
                            std::string const& source) {
    for (std::size_t c = time + 1; c < sampled.size() && !heads.titles.empty(); ++c) {
        // A bare "s" or "h" beside a time is a signal's short name.
        if (!names_time(heads.titles[c].name) || seconds_per(heads.titles[c].name)) continue;
        layout.roles[c] = Role::skipped;
        auto const scale = time_scale(layout, heads, c, source).value_or(layout.seconds_per_time);
        for (std::size_t i = 0; i < sampled[c].size(); ++i) {
            if (!sampled[c][i] || !sampled[time][i]) continue;
            double const first = *sampled[time][i] * layout.seconds_per_time,
                         second = *sampled[c][i] * scale;
            if (std::abs(first - second) > 1e-3 * std::abs(first) + 0.02)
                return fail(Errc::bad_input,
                            "The file has two time columns that differ.",
                            at_line(source, heads.line),
                            "export each detector with the same times");
        }
    }
    return {};
}

}  // namespace

std::optional<std::size_t> Layout::time_column() const {
    auto const found = std::ranges::find(roles, Role::time);
    if (found == roles.end()) return std::nullopt;
    return static_cast<std::size_t>(found - roles.begin());
}

std::size_t Layout::signals() const {
    return static_cast<std::size_t>(std::ranges::count(roles, Role::signal));
}

int printed_decimals(std::string_view cell) {
    auto const exponent_at = std::min(cell.find_first_of("eE"), cell.size());
    auto const sign_at = cell.substr(0, exponent_at).find_first_of(".,\x01");
    int const digits =
        sign_at == std::string_view::npos ? 0 : static_cast<int>(exponent_at - sign_at) - 1;
    auto const exponent =
        exponent_at == cell.size() ? 0.0 : parse_number(cell.substr(exponent_at + 1)).value_or(0.0);
    return std::clamp(digits - static_cast<int>(std::clamp(exponent, -300.0, 300.0)), -10, 18);
}

Result<Layout> trace_layout(std::string_view text, std::string const& source) {
    GW_TRY(auto const block, number_block(text, source));
    Layout layout;
    layout.offset = block.rows.front().offset;
    layout.first_line = block.rows.front().number;
    GW_TRY(auto const dialect, dialect_of(block, text.substr(layout.offset), source));
    layout.delimiter = dialect.delimiter;
    layout.decimal_comma = dialect.decimal_comma;
    layout.trailing_delimiter = dialect.trailing_delimiter;
    if (dialect.columns > most_columns)
        return fail(
            Errc::bad_input,
            fmt::format(
                "The rows have {} columns; at most {} can be read.", dialect.columns, most_columns),
            at_line(source, layout.first_line),
            "export time and signals only");
    GW_TRY(auto const heads, headings(block, dialect, source));
    keep_entries(block, layout);
    GW_TRY(layout.interval_s, stated_interval(layout, source));

    Sampled sampled(dialect.columns);
    std::vector<int> decimals(dialect.columns, 0);
    for (auto const& row : block.rows) {
        auto const parts = row_cells(row.text, dialect);
        for (std::size_t c = 0; c < dialect.columns; ++c) {
            sampled[c].push_back(c < parts.size() ? cell_number(parts[c], dialect.decimal_comma)
                                                  : std::nullopt);
            if (c < parts.size()) decimals[c] = std::max(decimals[c], printed_decimals(parts[c]));
        }
    }
    layout.roles.assign(dialect.columns, Role::signal);
    auto const time = find_time_column(heads, sampled);
    if (time) {
        layout.roles[*time] = Role::time;
        GW_TRY(layout.seconds_per_time, time_scale(layout, heads, *time, source));
        layout.time_step_printed = std::pow(10.0, -decimals[*time]) * layout.seconds_per_time;
        GW_CHECK(skip_repeated_time(layout, heads, sampled, *time, source));
    }
    for (std::size_t c = 0; c < dialect.columns; ++c) {
        bool const titled_index =
            !heads.titles.empty() && names_index(heads.titles[c].name) && counts_rows(sampled[c]);
        bool const bare_index =
            heads.titles.empty() && c == 0 && time && *time == 1 && counts_rows(sampled[0]);
        if (c != time && (titled_index || bare_index)) layout.roles[c] = Role::skipped;
        if (layout.roles[c] != Role::signal || !layout.unit.empty()) continue;
        if (!heads.titles.empty()) layout.unit = heads.titles[c].unit;
        if (layout.unit.empty() && !heads.units.empty()) layout.unit = heads.units[c];
        if (layout.unit.empty() && !heads.titles.empty() && is_signal_unit(heads.titles[c].name))
            layout.unit = heads.titles[c].written;
    }
    if (layout.signals() == 0)
        return fail(Errc::bad_input,
                    "The file has no signal column.",
                    at_line(source, layout.first_line),
                    "export time and signal");
    return layout;
}

}  // namespace gw::trace
