#include "base/difference.hpp"

#include <algorithm>
#include <cstdint>

#include "base/text.hpp"

namespace gw {

namespace {

constexpr std::size_t most_cells = 16'000'000;  // of the table: 32 MB

std::vector<std::string_view> lines_of(std::string_view text) {
    auto lines = split(text, '\n');
    if (!lines.empty() && lines.back().empty()) lines.pop_back();
    for (auto& line : lines)
        if (line.ends_with('\r')) line.remove_suffix(1);
    return lines;
}

}  // namespace

std::vector<LineChange> line_changes(std::string_view before, std::string_view after) {
    auto const old_lines = lines_of(before), new_lines = lines_of(after);
    std::size_t head = 0;
    auto old_end = old_lines.size(), new_end = new_lines.size();
    while (head < old_end && head < new_end && old_lines[head] == new_lines[head]) ++head;
    while (old_end > head && new_end > head && old_lines[old_end - 1] == new_lines[new_end - 1]) {
        --old_end;
        --new_end;
    }
    auto const n = old_end - head, m = new_end - head;
    std::vector<LineChange> out;
    auto const taken = [&](std::size_t i) {
        out.push_back({false, std::string(old_lines[head + i])});
    };
    auto const added = [&](std::size_t j) {
        out.push_back({true, std::string(new_lines[head + j])});
    };
    if (n > 0xFFFF || m > 0xFFFF || (n + 1) * (m + 1) > most_cells) {
        for (std::size_t i = 0; i < n; ++i) taken(i);
        for (std::size_t j = 0; j < m; ++j) added(j);
        return out;
    }
    // common[i][j]: length of the longest common subsequence of the lines from i and j on.
    std::vector<std::uint16_t> common((n + 1) * (m + 1), 0);
    auto const at = [&](std::size_t i, std::size_t j) -> std::uint16_t& {
        return common[i * (m + 1) + j];
    };
    for (std::size_t i = n; i-- > 0;)
        for (std::size_t j = m; j-- > 0;)
            at(i, j) = old_lines[head + i] == new_lines[head + j]
                           ? static_cast<std::uint16_t>(at(i + 1, j + 1) + 1)
                           : std::max(at(i + 1, j), at(i, j + 1));
    std::size_t i = 0, j = 0;
    while (i < n || j < m) {
        if (i < n && j < m && old_lines[head + i] == new_lines[head + j]) {
            ++i;
            ++j;
        } else if (i < n && (j == m || at(i + 1, j) >= at(i, j + 1))) {
            taken(i++);
        } else {
            added(j++);
        }
    }
    return out;
}

std::string difference_text(std::vector<LineChange> const& changes) {
    std::string out;
    for (auto const& change : changes) {
        out += change.added ? "+ " : "- ";
        out += change.line;
        out += '\n';
    }
    return out;
}

}  // namespace gw
