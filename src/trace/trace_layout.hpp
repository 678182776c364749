#pragma once
/// Where the numbers of a trace file begin, and what its columns mean.
#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.hpp"
#include "trace/table_text.hpp"

namespace gw::trace {

enum class Role {
    time,
    signal,
    skipped,  ///< a count of the rows, or the same time in another unit
};

struct Layout {
    Delimiter delimiter = Delimiter::comma;
    bool decimal_comma = false;
    bool trailing_delimiter = false;  ///< every row ends in one more delimiter
    std::size_t offset{};             ///< of the first row, in bytes
    std::size_t first_line{};         ///< of the first row, from 1
    std::vector<Role> roles;          ///< one per column; at most one is time, at least one signal
    double seconds_per_time{1};
    double time_step_printed{};        ///< s, finest decimal among the first rows
    std::optional<double> interval_s;  ///< stated by the header, s
    std::string unit;                  ///< of the first signal; empty when not stated
    std::map<std::string, std::string>
        header;  ///< "# key: value", and "key: value" of the preamble
    std::map<std::string, std::size_t> header_line;  ///< of the keys written with '#'

    [[nodiscard]] std::optional<std::size_t> time_column() const;
    [[nodiscard]] std::size_t signals() const;
};

/// Delimiter and decimal sign are those of the rows, not of the preamble. The row of titles is the
/// line of text right above the rows (a row of units may stand between) with as many cells as they
/// have. The time column is the one titled so; without known titles the first that grows in even
/// steps (nine of ten steps between 0.4 and 2.1 of the median, so that gaps and rounding do not
/// hide it). Without any unit, time is in seconds.
Result<Layout> trace_layout(std::string_view text, std::string const& source);

/// Digits after the decimal sign of a number as printed, its exponent taken off.
int printed_decimals(std::string_view cell);

}  // namespace gw::trace
