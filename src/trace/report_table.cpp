#include "trace/report_table.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <vector>

#include "base/hash.hpp"
#include "base/json.hpp"
#include "base/text.hpp"
#include "trace/netcdf.hpp"
#include "trace/report_columns.hpp"
#include "trace/table_text.hpp"
#include "trace/trace_file.hpp"

namespace gw::trace {

namespace {

constexpr std::array delimiters = {Delimiter::tab,
                                   Delimiter::semicolon,
                                   Delimiter::comma,
                                   Delimiter::wide_blanks,
                                   Delimiter::blanks};

bool has_digit(std::string_view text) {
    return text.find_first_of("0123456789") != std::string_view::npos;
}

struct TitleRow {
    Delimiter delimiter = Delimiter::comma;
    std::vector<ColumnMeaning> columns;
    std::vector<std::string> titles;
    std::size_t component{};  ///< its column
};

std::optional<TitleRow> title_row(std::string_view line) {
    for (auto const delimiter : delimiters) {
        TitleRow row;
        row.delimiter = delimiter;
        row.titles = cells(line, delimiter);
        std::size_t components = 0, figures = 0;
        for (auto const& cell : row.titles) {
            row.columns.push_back(column_meaning(cell));
            auto const column = row.columns.back().column;
            if (column == ReportColumn::component) {
                if (components++ == 0)
                    row.component = row.columns.size() - 1;
                else
                    row.columns.back().column = ReportColumn::unused;
            } else if (column != ReportColumn::unused) {
                ++figures;
            }
        }
        if (components > 0 && figures > 0) return row;
    }
    return std::nullopt;
}

/// A figure as printed: "90.12", "90,12", "90.12 %".
std::string_view bare_figure(std::string_view cell) {
    cell = trimmed(cell);
    if (!cell.empty() && cell.back() == '%') cell.remove_suffix(1);
    return trimmed(cell);
}

bool is_figure(std::string_view cell) {
    auto const bare = bare_figure(cell);
    return cell_number(bare, false) || cell_number(bare, true);
}

/// Rows parted by single blanks: the words before the first figure are the component's name.
std::vector<std::string> words_then_figures(std::string_view line) {
    auto const words = cells(line, Delimiter::blanks);
    std::vector<std::string> out;
    for (auto const& word : words) {
        bool const starts_figures =
            !out.empty() && (out.size() > 1 || is_figure(word) || means_absent(word));
        if (out.empty() || starts_figures)
            out.push_back(word);
        else
            out.back() += " " + word;
    }
    return out;
}

/// "2,2-dimethylbutane" unquoted between commas is cut in two; the pieces make one known name.
void mend_cut_name(std::vector<std::string>& parts, std::size_t column) {
    if (column + 1 >= parts.size() || gas::find_component(parts[column])) return;
    auto const whole = parts[column] + "," + parts[column + 1];
    if (!gas::find_component(whole)) return;
    parts[column] = whole;
    parts.erase(parts.begin() + static_cast<std::ptrdiff_t>(column) + 1);
}

std::vector<std::string> report_cells(std::string_view line,
                                      Delimiter delimiter,
                                      std::size_t component) {
    if (delimiter == Delimiter::blanks) return words_then_figures(line);
    auto parts = cells(line, delimiter);
    if (delimiter == Delimiter::comma) mend_cut_name(parts, component);
    return parts;
}

/// A row of a table without titles: a component, then figures.
std::optional<TitleRow> untitled(std::string_view line) {
    for (auto const delimiter : delimiters) {
        auto parts = report_cells(line, delimiter, 0);
        while (parts.size() > 1 && parts.back().empty()) parts.pop_back();
        if (parts.size() < 2 || !gas::find_component(parts.front())) continue;
        if (!std::all_of(
                parts.begin() + 1, parts.end(), [](auto const& cell) { return is_figure(cell); }))
            continue;
        TitleRow row;
        row.delimiter = delimiter;
        row.titles.assign(parts.size(), "");
        row.columns.assign(parts.size(), {});
        row.columns[0].column = ReportColumn::component;
        row.columns[1].column = ReportColumn::mole_percent;
        return row;
    }
    return std::nullopt;
}

struct TableRow {
    std::vector<std::string> parts;
    std::string where;
};

/// Numbers may use a point or a comma for decimals, but one of them throughout.
Result<bool> uses_decimal_comma(std::vector<TableRow> const& rows, TitleRow const& titles) {
    bool point = false, comma = false;
    for (auto const& row : rows)
        for (std::size_t c = 0; c < std::min(row.parts.size(), titles.columns.size()); ++c) {
            auto const column = titles.columns[c].column;
            if (column == ReportColumn::component || column == ReportColumn::unused) continue;
            point =
                point || (has_digit(row.parts[c]) && row.parts[c].find('.') != std::string::npos);
            comma =
                comma || (has_digit(row.parts[c]) && row.parts[c].find(',') != std::string::npos);
            if (point && comma)
                return fail(Errc::bad_input,
                            "The numbers hold both points and commas.",
                            row.where,
                            "give them without a thousands separator");
        }
    return comma;
}

class TableReader {
  public:
    TableReader(std::string const& source, ReportTable& table)
        : source_(source), builder_(table), table_(table) {}

    Result<> line(Line const& line) {
        auto const where = at_line(source_, line.number);
        if (trimmed(line.text).empty()) return {};
        // "#" may head the column that counts the peaks.
        bool const titles =
            !titles_ && line.text.find(':') == std::string_view::npos && title_row(line.text);
        if (is_comment(line.text) && !titles) {
            if (auto const entry = comment_entry(line.text))
                entries_.push_back({rows_.size(), *entry, where});
            return {};
        }
        if (auto const entry = stated(line.text)) {
            entries_.push_back({rows_.size(), *entry, where});
            return {};
        }
        if (!titles_) {
            titles_ = title_row(line.text);
            if (titles_) return check_titles(where);
            titles_ = untitled(line.text);
            if (!titles_) return {};  // a line of the preamble
            if (titles_->columns.size() > 2)
                return fail(Errc::bad_input,
                            "The table has no titles, so its columns cannot be told apart.",
                            where,
                            "add a first row such as component,retention,area,mole_percent");
        }
        rows_.push_back({report_cells(line.text, titles_->delimiter, titles_->component), where});
        return {};
    }

    Result<> finish() {
        if (!titles_)
            return fail(Errc::bad_input,
                        "No row of titles with a component and a figure was found.",
                        source_,
                        "add a first row such as component,mole_percent");
        GW_TRY(bool const decimal_comma, uses_decimal_comma(rows_, *titles_));
        std::size_t next = 0;
        for (std::size_t i = 0; i <= rows_.size(); ++i) {
            for (; next < entries_.size() && entries_[next].before_row <= i; ++next)
                GW_CHECK(builder_.entry(
                    entries_[next].pair.first, entries_[next].pair.second, entries_[next].where));
            if (i < rows_.size()) GW_CHECK(row(rows_[i], decimal_comma));
        }
        return builder_.finish(printed_total_);
    }

  private:
    struct Entry {
        std::size_t before_row;
        std::pair<std::string, std::string> pair;
        std::string where;
    };

    /// "Key: value" without '#'; with a known key also as two cells.
    [[nodiscard]] std::optional<std::pair<std::string, std::string>> stated(
        std::string_view text) const {
        if (auto entry = key_and_value(text);
            entry && (!titles_ || ReportBuilder::is_known_key(entry->first))) {
            // A trailing delimiter is the table's, not the value's.
            while (!entry->second.empty() &&
                   (entry->second.back() == ';' || entry->second.back() == ','))
                entry->second.pop_back();
            if (titles_ || !title_row(text)) return entry;
        }
        for (auto const delimiter : {Delimiter::tab, Delimiter::semicolon, Delimiter::comma}) {
            auto const parts = cells(text, delimiter);
            if (parts.size() >= 2 && ReportBuilder::is_known_key(parts[0]) && !title_row(text) &&
                std::all_of(
                    parts.begin() + 2, parts.end(), [](auto const& part) { return part.empty(); }))
                return std::pair(lowered(parts[0]), parts[1]);
        }
        return std::nullopt;
    }

    Result<> check_titles(std::string const& where) {
        std::array<bool, 8> seen{};
        for (std::size_t c = 0; c < titles_->columns.size(); ++c) {
            auto const column = titles_->columns[c].column;
            if (column == ReportColumn::unused) {
                if (!titles_->titles[c].empty())
                    table_.warnings.push_back(fmt::format(
                        "{}: the column {} is not used.", where, in_quotes(titles_->titles[c])));
                continue;
            }
            if (bool& before = seen[static_cast<std::size_t>(column)]; before)
                return fail(
                    Errc::bad_input,
                    fmt::format("Two columns could be meant by {}.", in_quotes(titles_->titles[c])),
                    where,
                    "keep one of them");
            else
                before = true;
        }
        return {};
    }

    Result<> row(TableRow const& row, bool decimal_comma) {
        auto parts = row.parts;
        auto const columns = titles_->columns.size();
        while (parts.size() > columns && parts.back().empty()) parts.pop_back();
        bool const by_blanks =
            titles_->delimiter == Delimiter::blanks || titles_->delimiter == Delimiter::wide_blanks;
        if (titles_->component < parts.size() && names_a_total(parts[titles_->component]) &&
            !(by_blanks && parts.size() < columns))
            return total(parts, decimal_comma);
        if (parts.size() < columns && names_a_total(parts.front()))
            return lone_total(parts, decimal_comma);
        bool const blank =
            std::ranges::all_of(parts, [](auto const& part) { return part.empty(); });
        bool const rule = std::ranges::all_of(parts, [](auto const& part) {
            return part.find_first_not_of("-=_ ") == std::string::npos;
        });
        if (blank || rule) return {};
        if (titles_->component < parts.size())
            GW_CHECK(builder_.start_row(parts[titles_->component], row.where));
        if (parts.size() != columns)
            return fail(
                Errc::bad_input,
                fmt::format("The row has {} columns; the titles name {}.", parts.size(), columns),
                row.where,
                "mend the row, or put names with commas into quotes");
        for (std::size_t c = 0; c < columns; ++c) {
            auto const& meaning = titles_->columns[c];
            if (meaning.column == ReportColumn::component ||
                meaning.column == ReportColumn::unused || means_absent(parts[c]))
                continue;
            auto const number = cell_number(bare_figure(parts[c]), decimal_comma);
            if (!number)
                return fail(Errc::bad_input,
                            fmt::format("{} is not a finite number.", in_quotes(parts[c])),
                            row.where,
                            "give a number, or leave the cell empty");
            GW_CHECK(builder_.value(meaning, *number, row.where));
        }
        return {};
    }

    Result<> total(std::vector<std::string> const& parts, bool decimal_comma) {
        for (std::size_t c = 0; c < std::min(parts.size(), titles_->columns.size()); ++c)
            if (titles_->columns[c].column == ReportColumn::mole_percent)
                if (auto const number = cell_number(bare_figure(parts[c]), decimal_comma))
                    printed_total_ = *number * titles_->columns[c].scale;
        return {};
    }

    /// A total between blanks has lost its place under the columns: one figure alone can only be
    /// mol% when it is near 100.
    Result<> lone_total(std::vector<std::string> const& parts, bool decimal_comma) {
        std::vector<double> figures;
        for (std::size_t i = 1; i < parts.size(); ++i)
            if (auto const number = cell_number(bare_figure(parts[i]), decimal_comma))
                figures.push_back(*number);
        if (figures.size() == 1 && figures[0] >= 90 && figures[0] <= 110)
            printed_total_ = figures[0];
        return {};
    }

    std::string const& source_;
    ReportBuilder builder_;
    ReportTable& table_;
    std::optional<TitleRow> titles_;
    std::vector<TableRow> rows_;
    std::vector<Entry> entries_;
    std::optional<double> printed_total_;
};

}  // namespace

std::optional<double> ReportTable::mole_percent_sum() const {
    std::optional<double> sum;
    for (auto const& row : rows)
        if (row.mole_percent) sum = sum.value_or(0) + *row.mole_percent;
    return sum;
}

Result<ReportTable> read_report(std::string_view bytes, std::string const& source) {
    constexpr std::size_t most = 1'000'000;  // bytes; a report has some dozen rows
    if (bytes.size() > 2 * most)             // however it is encoded
        return fail(Errc::bad_input,
                    "The file is far too long for a report table.",
                    source,
                    "give the table of one run");
    if (looks_like_json(bytes)) return read_report_json(bytes, source);
    GW_TRY(auto const text, decode_text(bytes, source));
    if (trimmed(text).empty())
        return fail(Errc::bad_input,
                    "The file is empty.",
                    source,
                    "give a table with component and mole_percent");
    if (text.size() > most)
        return fail(Errc::bad_input,
                    "The file is far too long for a report table.",
                    source,
                    "give the table of one run");
    ReportTable table;
    table.source = source;
    table.hash = sha256(bytes);
    TableReader reader(source, table);
    LineReader lines(text);
    for (Line line; lines.next(line);) GW_CHECK(reader.line(line));
    GW_CHECK(reader.finish());
    return table;
}

namespace {

/// Rows of samples have figures alone; titles and names have letters, of whatever script.
bool has_letters(std::string_view line) {
    return std::ranges::any_of(line, [](char c) {
        return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ||
               static_cast<unsigned char>(c) >= 0x80;
    });
}

}  // namespace

bool looks_like_report(std::string_view bytes) {
    if (looks_like_netcdf(bytes)) return false;
    if (looks_like_json(bytes)) return true;
    constexpr std::size_t enough = 65'536;  // bytes, even for UTF-16; no preamble is longer
    std::string_view head = bytes.substr(0, enough);
    auto const text = decode_text(head, "");
    if (!text) return false;
    LineReader lines(*text);
    std::size_t untitled_rows = 0;
    for (Line line; lines.next(line);) {
        if (!has_letters(line.text)) continue;
        bool const comment = is_comment(line.text);
        if (comment && line.text.find(':') != std::string_view::npos) continue;
        if (auto const row = title_row(line.text)) {
            bool const signal = std::ranges::any_of(
                row->titles, [](auto const& cell) { return title(cell).name == "signal"; });
            if (!signal) return true;
        }
        if (!comment && untitled(line.text) && ++untitled_rows >= 2) return true;
    }
    return false;
}

}  // namespace gw::trace
