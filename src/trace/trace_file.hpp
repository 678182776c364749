#pragma once
/// Reading and writing a trace as text, in every form of the contract.
#include <optional>
#include <string>
#include <string_view>

#include "base/result.hpp"
#include "trace/signal.hpp"

namespace gw::trace {

struct TraceReadOptions {
    std::optional<double>
        rate_hz;  ///< for files without a time column; also overrides nothing else
};

/// Reads own files (`# key: value` lines, `time_s,signal,signal_2...`) and foreign exports:
/// delimiter , ; tab or blanks, decimal comma, quoted fields, preamble lines, a units row, header
/// absent, time in s, min, ms or absent, byte-order mark, UTF-8, UTF-16 with mark, Latin-1, CRLF.
/// Refuses: not a number, infinity, backward or repeated time, fewer than 16 samples, a row with
/// another number of columns, an unknown time unit, no time and no rate. Gaps are filled and
/// listed. Times that jitter about a uniform grid by more than a quarter interval are put on the
/// grid by straight lines, with a warning. source: file name for messages ("run.csv:17" names the
/// line).
Result<Trace> read_trace(std::string_view bytes,
                         std::string const& source,
                         TraceReadOptions const& options = {});

/// True when the bytes are a report table rather than a trace (see report_table.hpp).
bool looks_like_report(std::string_view bytes);

/// Our own text form; reads back to the same samples.
std::string trace_csv(Trace const& trace);

}  // namespace gw::trace
