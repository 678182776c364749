#include "trace/trace_block.hpp"

#include <algorithm>
#include <array>
#include <cctype>

#include "base/text.hpp"

namespace gw::trace {

namespace {

constexpr std::size_t most_preamble_lines = 10'000;
constexpr std::size_t most_rows_looked_at = 256;
constexpr std::size_t longest_line = 100'000;

bool is_digit(char c) { return c >= '0' && c <= '9'; }

/// Written where a number should stand: it belongs to the rows, to be refused there with its line.
bool stands_for_a_number(std::string_view word) {
    static constexpr std::array<std::string_view, 12> words = {"nan",
                                                               "-nan",
                                                               "+nan",
                                                               "inf",
                                                               "-inf",
                                                               "+inf",
                                                               "infinity",
                                                               "-infinity",
                                                               "na",
                                                               "n/a",
                                                               "null",
                                                               "#n/a"};
    return std::ranges::find(words, lowered(word)) != words.end() ||
           lowered(word).starts_with("nan(") || lowered(word).starts_with("1.#");
}

bool is_numberish(std::string_view word) {
    if (word.empty()) return false;
    if (word.front() == '+' || word.front() == '-') word.remove_prefix(1);
    std::size_t digits = 0, points = 0, i = 0;
    for (; i < word.size() && (is_digit(word[i]) || word[i] == '.'); ++i)
        ++(word[i] == '.' ? points : digits);
    if (digits == 0) return false;
    if (i == word.size())
        return points <= 2;  // two: a thousands separator, refused later by its line
    if (word[i] != 'e' && word[i] != 'E') return false;
    if (++i < word.size() && (word[i] == '+' || word[i] == '-')) ++i;
    return i < word.size() &&
           std::all_of(word.begin() + static_cast<std::ptrdiff_t>(i), word.end(), is_digit);
}

bool is_row(std::string_view line) {
    bool number = false;
    std::string const plain = [&] {
        std::string out(line);
        std::ranges::replace(out, '"', ' ');
        return out;
    }();
    std::string_view rest = plain;
    while (!rest.empty()) {
        auto const end = std::min(rest.find_first_of(",; \t"), rest.size());
        auto const word = trimmed(rest.substr(0, end));
        rest.remove_prefix(std::min(end + 1, rest.size()));
        if (word.empty()) continue;
        bool const numberish = is_numberish(word);
        if (!numberish && !stands_for_a_number(word)) return false;
        number = number || numberish;
    }
    return number;
}

/// A title row says so by itself: a cell named time, or a lone cell that names a signal.
bool is_title_row(std::string_view line) {
    for (auto const delimiter :
         {Delimiter::semicolon, Delimiter::tab, Delimiter::comma, Delimiter::blanks}) {
        auto const parts = cells(line, delimiter);
        bool time = false, text_only = true;
        for (auto const& part : parts) {
            time = time || names_time(part);
            text_only = text_only && !part.empty() && !is_digit(part.front()) &&
                        part.find(':') == std::string::npos;
        }
        if (text_only && ((time && parts.size() > 1) || std::ranges::all_of(parts, names_signal)))
            return true;
    }
    return false;
}

/// "# time_s,signal": titles behind a comment sign. A '#' that is itself a title stays. Else empty.
std::string_view commented_titles(std::string_view line) {
    auto text = trimmed(line);
    if (text.find(':') != std::string_view::npos) return {};
    bool const own_cell =
        text.size() > 1 && std::string_view("\t;,").find(text[1]) != std::string_view::npos;
    if (!own_cell) text.remove_prefix(1);
    return is_title_row(text) ? trimmed(text) : std::string_view{};
}

std::size_t share_with(std::vector<std::string> const& lines, char sign) {
    return static_cast<std::size_t>(std::ranges::count_if(
        lines, [&](std::string const& line) { return line.find(sign) != std::string::npos; }));
}

enum class CommaUse { none, decimal, delimiter, unclear };

/// What a comma means in rows that have neither ; nor tab.
CommaUse comma_use(std::vector<std::string> const& rows, bool blanks_inside) {
    bool point = false, beside_blank = false, always_one = true;
    std::size_t with_comma = 0, most = 0;
    for (auto const& row : rows) {
        auto const commas = static_cast<std::size_t>(std::ranges::count(row, ','));
        with_comma += commas > 0 ? 1 : 0;
        most = std::max(most, commas);
        always_one = always_one && commas == 1;
        point = point || row.find('.') != std::string::npos;
        for (std::size_t i = 0; i < row.size(); ++i)
            if (row[i] == ',' && (i == 0 || i + 1 == row.size() || row[i - 1] == ' ' ||
                                  row[i + 1] == ' ' || row[i - 1] == 'q' || row[i + 1] == 'q'))
                beside_blank = true;
    }
    if (with_comma == 0) return CommaUse::none;
    if (blanks_inside) return beside_blank ? CommaUse::delimiter : CommaUse::decimal;
    if (point || beside_blank) return CommaUse::delimiter;
    if (most == 1) return always_one ? CommaUse::unclear : CommaUse::decimal;
    return CommaUse::delimiter;
}

/// "0,1": two columns of integers, or one column with a decimal comma?
bool one_comma_is_decimal(NumberBlock const& block) {
    if (!block.above.empty()) {
        auto const& above = block.above.back().text;
        auto const titles = cells(above, Delimiter::comma);
        if (titles.size() == 2) return false;
        if (titles.size() == 1) return true;
    }
    // No titles: a first number that grows from row to row is a time, so the comma parts columns.
    std::optional<double> before;
    for (auto const& row : block.rows) {
        auto const parts = cells(row.text, Delimiter::comma);
        auto const first = parts.empty() ? std::nullopt : parse_number(parts.front());
        if (!first || (before && *first <= *before)) return true;
        before = first;
    }
    return false;
}

}  // namespace

bool names_time(std::string_view cell) {
    static constexpr std::array<std::string_view, 18> words = {"time",
                                                               "zeit",
                                                               "t",
                                                               "temps",
                                                               "tiempo",
                                                               "tempo",
                                                               "tijd",
                                                               "rt",
                                                               "x-time",
                                                               "retention time",
                                                               "ret. time",
                                                               "ret time",
                                                               "retentionszeit",
                                                               "run time",
                                                               "runtime",
                                                               "elapsed",
                                                               "elapsed time",
                                                               "laufzeit"};
    auto const name = title(cell).name;
    return std::ranges::find(words, name) != words.end() || seconds_per(name).has_value() ||
           name.starts_with("time ") || name.starts_with("time_");
}

bool names_signal(std::string_view cell) {
    static constexpr std::array<std::string_view, 12> words = {"signal",
                                                               "detector",
                                                               "tcd",
                                                               "fid",
                                                               "intensity",
                                                               "response",
                                                               "voltage",
                                                               "channel",
                                                               "detektor",
                                                               "value",
                                                               "height",
                                                               "ch"};
    auto const name = title(cell).name;
    if (is_signal_unit(name)) return true;
    return std::ranges::any_of(words, [&](std::string_view word) {
        if (!name.starts_with(word)) return false;
        auto const rest = std::string_view(name).substr(word.size());
        return rest.empty() || !std::isalpha(static_cast<unsigned char>(rest.front()));
    });
}

std::vector<std::string> row_cells(std::string_view line, Dialect const& dialect) {
    auto out = cells(line, dialect.delimiter);
    if (dialect.trailing_delimiter && out.size() > 1 && out.back().empty()) out.pop_back();
    return out;
}

Result<NumberBlock> number_block(std::string_view text, std::string const& source) {
    constexpr std::size_t enough = 3;
    NumberBlock block;
    LineReader reader(text);
    bool titles_above = false;
    for (Line line; block.rows.size() < most_rows_looked_at && reader.next(line);) {
        if (line.text.size() > longest_line)
            return fail(Errc::bad_input,
                        "The line is longer than any row of a trace.",
                        at_line(source, line.number),
                        "give the trace as text with one sample on each line");
        if (trimmed(line.text).empty()) continue;
        if (is_comment(line.text)) {
            if (!block.rows.empty()) continue;
            if (auto const titles = commented_titles(line.text); !titles.empty()) {
                titles_above = true;
                block.above.push_back({titles, line.number, line.offset});
            } else {
                block.comments.push_back(line);
            }
            continue;
        }
        if (is_row(line.text)) {
            block.rows.push_back(line);
            continue;
        }
        if (block.rows.size() >= enough || (titles_above && !block.rows.empty())) break;
        for (auto const& row : block.rows) {  // too few: a date or a number of the preamble
            block.looks_like_row.push_back(block.above.size());
            block.above.push_back(row);
        }
        block.rows.clear();
        titles_above =
            is_title_row(line.text) || (titles_above && !std::ranges::any_of(line.text, is_digit));
        block.above.push_back(line);
        if (block.above.size() > most_preamble_lines) break;
    }
    if (!block.rows.empty()) return block;
    return fail(Errc::bad_input,
                trimmed(text).empty() ? "The file is empty." : "The file holds no rows of numbers.",
                source,
                "give a trace as text with one sample on each line");
}

Result<Dialect> dialect_of(NumberBlock const& block,
                           std::string_view rest,
                           std::string const& source) {
    std::vector<std::string> outside;
    for (auto const& row : block.rows) outside.push_back(outside_quotes(trimmed(row.text)));
    auto const rows = outside.size();
    auto const blanks = share_with(outside, ' ');
    auto const first_line = at_line(source, block.rows.front().number);
    Dialect dialect;
    if (2 * share_with(outside, ';') > rows) {
        dialect.delimiter = Delimiter::semicolon;
    } else if (2 * share_with(outside, '\t') > rows) {
        dialect.delimiter = Delimiter::tab;
    } else {
        auto use = comma_use(outside, 2 * blanks > rows);
        if (use == CommaUse::unclear)
            use = one_comma_is_decimal(block) ? CommaUse::decimal : CommaUse::delimiter;
        dialect.delimiter = use == CommaUse::delimiter ? Delimiter::comma
                            : 2 * blanks > rows        ? Delimiter::blanks
                                                       : Delimiter::none;
    }

    bool point = false, comma = false, every_row_trails = rows >= 3;
    for (auto const& row : block.rows) {
        auto const parts = cells(row.text, dialect.delimiter);
        every_row_trails = every_row_trails && parts.size() > 1 && parts.back().empty();
        for (auto const& part : parts) {
            point = point || part.find('.') != std::string::npos;
            comma = comma || part.find(',') != std::string::npos;
        }
        if (point && comma)
            return fail(Errc::bad_input,
                        "The numbers hold both points and commas.",
                        at_line(source, row.number),
                        "export without a thousands separator");
    }
    if (!point && !comma && dialect.delimiter != Delimiter::comma) {
        // The sign stands only further down, if at all.
        auto const at = rest.find_first_of(".,");
        comma = at != std::string_view::npos && rest[at] == ',';
    }
    dialect.decimal_comma = comma;
    dialect.trailing_delimiter = every_row_trails;
    dialect.columns = row_cells(block.rows.front().text, dialect).size();
    if (dialect.delimiter == Delimiter::comma && !comma && !block.above.empty() &&
        dialect.columns == 4) {
        // "0,02,1,5" under two titles: every number may have been cut at its decimal comma.
        bool const no_point = !point && std::ranges::none_of(rest, [](char c) { return c == '.'; });
        if (no_point && cells(block.above.back().text, Delimiter::comma).size() == 2 &&
            is_title_row(block.above.back().text))
            return fail(Errc::bad_input,
                        "Commas both part the columns and mark the decimals.",
                        first_line,
                        "export with ; or tab between the columns");
    }
    return dialect;
}

}  // namespace gw::trace
