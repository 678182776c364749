#pragma once
/// Text without locale: numbers, trimming, splitting, decoding.
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.hpp"

namespace gw {

std::string_view trimmed(std::string_view text);
std::string lowered(std::string_view text);  ///< ASCII only
bool starts_with_ignoring_case(std::string_view text, std::string_view prefix);
std::vector<std::string_view> split(std::string_view text, char delimiter);
std::string joined(std::vector<std::string> const& parts, std::string_view between);

/// A finite decimal number with nothing before or after it but blanks; never infinity or NaN.
/// A leading plus sign is taken. Decimal point only.
std::optional<double> parse_number(std::string_view text);

/// Shortest decimal text that reads back as the same double.
std::string shortest(double value);
/// Fixed number of decimals, with a real minus sign never as "-0.000".
std::string fixed(double value, int decimals);

/// UTF-8 text of bytes that are UTF-8 (with or without byte-order mark), UTF-16 with a mark, or
/// Latin-1. Fails with bad_input when the bytes hold NUL or control characters that no text has.
Result<std::string> decode_text(std::string_view bytes, std::string const& source);

}  // namespace gw
