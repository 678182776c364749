#pragma once
/// Criteria sets: every limit with its source, as data.
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "base/json.hpp"
#include "metrology/finding.hpp"

namespace gw::metrology {

struct CriteriaSet {
    std::string name, title;
    std::map<std::string, Criterion> limits;  ///< by finding id
    std::vector<std::string> warnings;  ///< of the file: ids and fields this program does not know

    /// The limit of "component_bias:methane": its own entry, else that of "component_bias:*", else
    /// none.
    [[nodiscard]] Criterion const* find(std::string_view finding_id) const;
};

/// Parses a `criteria` file: finding ids with their limits, at the top level or inside "limits",
/// beside "schema", "name", "title", "note" and "extends": "custody" (a shipped set whose limits
/// hold where the file has none of its own; null takes one away). A file may carry a few ids only.
/// Absent rule, k and required mean guarded, 2 and true. Refuses an empty limit (neither low nor
/// high), low above high, an unknown rule, a limit without source. An id or field it does not know
/// is kept or passed over with a warning.
Result<CriteriaSet> read_criteria(Field const& root);
/// The set as a `criteria` file that read_criteria reads back alike.
Json criteria_json(CriteriaSet const& set);

/// The sets shipped with the program: custody, us-federal, oiml-a.
std::vector<std::string> shipped_criteria();
Result<CriteriaSet> shipped_criteria(std::string_view name);

}  // namespace gw::metrology
