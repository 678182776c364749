#pragma once
/// What is this file? For one who drops a file and does not know what the program calls it.
#include <string>
#include <string_view>
#include <vector>

#include "base/json.hpp"
#include "base/result.hpp"

namespace gw::desk {

/// {"kind": "trace"|"report"|"cylinder"|"method"|"calibration"|"series"|"bundle"|"picture"|"table"|
/// "unknown", "says": one sentence, "problem": null|Error of the reader that came nearest,
/// "columns": null|TableSample}. A table that no reader takes comes with its first rows, so that a
/// person can say which column is what.
Json file_kind(std::string_view bytes, std::string const& name);

/// Which columns of a table are the time and the signals of one run.
struct PickedColumns {
    std::string delimiter;  ///< "comma", "semicolon", "tab" or "blanks"
    bool decimal_comma = false;
    std::size_t first_row = 1;         ///< the first line of numbers, from 1
    std::size_t time = 0;              ///< column, from 0
    std::string time_unit = "s";       ///< s, min, ms, h
    std::vector<std::size_t> signals;  ///< columns, from 0; at least one
    std::string unit;                  ///< of the signals; may be empty
};
/// The run as a file of our own form. Fails with the line of the first cell that is no number, and
/// with whatever the reader of traces has against the result.
Result<std::string> picked_trace(std::string_view bytes,
                                 std::string const& name,
                                 PickedColumns const& picked);

}  // namespace gw::desk
