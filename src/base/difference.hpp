#pragma once
/// What changed between two texts, line by line.
#include <string>
#include <string_view>
#include <vector>

namespace gw {

struct LineChange {
    bool added = false;  ///< else taken away
    std::string line;    ///< without its end
    friend bool operator==(LineChange const&, LineChange const&) = default;
};

/// The fewest lines taken away and added that turn `before` into `after` (longest common
/// subsequence), in order; of one place those taken away first. Texts that differ in more than
/// some thousand lines are told as wholly replaced between their common beginning and end.
std::vector<LineChange> line_changes(std::string_view before, std::string_view after);

/// "- old" and "+ new", one a line; "" when nothing changed.
std::string difference_text(std::vector<LineChange> const& changes);

}  // namespace gw
