#pragma once
/// Tables as people and programs write them: lines, cells, numbers and units, whatever the
/// delimiter, the decimal sign and the line ends. Shared by the readers of traces and of reports.
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace gw::trace {

struct Line {
    std::string_view text;  ///< without its line end
    std::size_t number{};   ///< from 1, as an editor counts
    std::size_t offset{};   ///< of its first byte in the text
};

/// Lines ended by LF, CR LF or a lone CR.
class LineReader {
  public:
    explicit LineReader(std::string_view text) : text_(text) {}
    bool next(Line& line);

  private:
    std::string_view text_;
    std::size_t at_ = 0, number_ = 0;
};

enum class Delimiter {
    comma,
    semicolon,
    tab,
    blanks,       ///< one or more blanks or tabs
    wide_blanks,  ///< two or more blanks, so that "carbon dioxide" stays one cell
    none,         ///< the whole line is one cell
};

/// The trimmed cells of a line. A cell that begins with a quote ends at the closing one; a doubled
/// quote inside stands for one. An empty line is one empty cell.
std::vector<std::string> cells(std::string_view line, Delimiter delimiter);

/// The line with the inside of quoted cells blanked out by 'q', so that structure can be counted.
std::string outside_quotes(std::string_view line);

/// A finite number; with decimal_comma a point is no part of a number (and the other way round), so
/// that a thousands separator is never mistaken for a decimal sign.
std::optional<double> cell_number(std::string_view cell, bool decimal_comma);

/// "key: value", the key trimmed and in lower case. Nothing when there is no colon or no key, or
/// when the key is no short phrase.
std::optional<std::pair<std::string, std::string>> key_and_value(std::string_view text);
/// The same for a line that begins with '#'.
std::optional<std::pair<std::string, std::string>> comment_entry(std::string_view line);
bool is_comment(std::string_view line);

/// A column title taken apart: "Time (min)", "Zeit [s]", "time_ms", "t/s", "Area, uV*s".
struct Title {
    std::string name;      ///< lower case
    std::string written;   ///< the name as written
    std::string unit;      ///< as written, without brackets; empty when none is stated
    bool explicit_unit{};  ///< in brackets: a unit even when it is not a known one
};
Title title(std::string_view cell);

/// Seconds in one of the unit: s, min, ms, h and their usual spellings.
std::optional<double> seconds_per(std::string_view unit);
/// True for what detectors read in: mV, uV, V, counts, pA and the like.
bool is_signal_unit(std::string_view unit);

/// "run.csv:17"
std::string at_line(std::string const& source, std::size_t line);
/// A cell fit for a message: in quotes, shortened, without control characters.
std::string in_quotes(std::string_view cell);

}  // namespace gw::trace
