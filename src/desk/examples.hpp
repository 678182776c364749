#pragma once
/// Files to try things with, all invented: those of the demonstration, under one list.
#include <string>
#include <vector>

#include "base/result.hpp"

namespace gw::desk {

struct Example {
    std::string name;   ///< "printed_report.csv"
    std::string kind;   ///< "report", "cylinder", "method", "gas", "trace" or "series"
    std::string title;  ///< for people
};
std::vector<Example> const& examples();

/// The whole text of one. A trace is made when it is asked for.
Result<std::string> example_text(std::string const& name);

}  // namespace gw::desk
