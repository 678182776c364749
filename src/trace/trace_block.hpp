#pragma once
/// The block of numbers in a foreign text file: where it begins and how its rows are written.
#include <string>
#include <string_view>
#include <vector>

#include "base/result.hpp"
#include "trace/table_text.hpp"

namespace gw::trace {

struct NumberBlock {
    std::vector<Line> above;  ///< lines of text before the rows, comments and blank lines left out
    std::vector<Line> comments;  ///< lines with '#', before the rows
    std::vector<Line> rows;      ///< the first rows, at most 256
    std::vector<std::size_t>
        looks_like_row;  ///< indices into `above` of lines that hold only numbers
};

/// Finds three consecutive lines of numbers, or fewer right under a row of titles or at the end.
Result<NumberBlock> number_block(std::string_view text, std::string const& source);

struct Dialect {
    Delimiter delimiter = Delimiter::comma;
    bool decimal_comma = false, trailing_delimiter = false;
    std::size_t columns{};
};

/// The delimiter and decimal sign that make sense of the rows. `rest` is the text from the first
/// row on: searched for a decimal sign when the first rows have none. Refuses what can be read in
/// two ways.
Result<Dialect> dialect_of(NumberBlock const& block,
                           std::string_view rest,
                           std::string const& source);

std::vector<std::string> row_cells(std::string_view line, Dialect const& dialect);

/// True for a line of titles that names a time or a signal; decides nothing about its column count.
bool names_time(std::string_view cell);
bool names_signal(std::string_view cell);

}  // namespace gw::trace
