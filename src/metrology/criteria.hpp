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

    /// The limit of "component_bias:methane": its own entry, else that of "component_bias:*", else none.
    [[nodiscard]] Criterion const* find(std::string_view finding_id) const;
};

/// Parses a `criteria` file. Refuses an empty limit (neither low nor high), low above high, an
/// unknown rule, a limit without source.
Result<CriteriaSet> read_criteria(Field const& root);

/// The sets shipped with the program: custody, us-federal, oiml-a.
std::vector<std::string> shipped_criteria();
Result<CriteriaSet> shipped_criteria(std::string_view name);

}  // namespace gw::metrology
