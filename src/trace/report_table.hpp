#pragma once
/// What an analyser prints of one run, typed or pasted.
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.hpp"
#include "gas/component.hpp"

namespace gw::trace {

enum class FactorKind { not_stated, area_per_amount, amount_per_area, relative };

struct ReportRow {
    gas::Component component;
    std::optional<double> retention_s;   ///< s
    std::optional<double> area, height;  ///< in the analyser's own units
    std::optional<double> mole_percent;
    std::optional<double> factor;  ///< as printed; see ReportTable::factor_kind
    int detector = 1;
};

struct ReportTable {
    std::string source, hash;
    std::vector<ReportRow> rows;  ///< unique components, order as printed
    FactorKind factor_kind = FactorKind::not_stated;
    std::optional<bool> normalised;
    std::optional<double> unnormalised_total;  ///< mol%, as stated
    std::optional<double> printed_cv;          ///< as stated, usually MJ/m3
    std::string detector_text;                 ///< free text of "# detector:"
    std::vector<std::pair<std::string, std::string>>
        header;  ///< all "# key: value" lines, keys lower case
    std::vector<std::string> warnings;

    /// Sum of mole_percent over the rows that state it; nothing when none does.
    [[nodiscard]] std::optional<double> mole_percent_sum() const;
};

/// CSV (same tolerance for delimiters, decimal comma, encodings as traces) or JSON
/// (a list of row objects, or an object with "rows" and the header keys). Column names are matched
/// loosely: component/name, retention/rt/time, area, height, mole_percent/mol%/mole %, factor/rf.
/// Retention in minutes when "# time_unit: min" says so. Refuses unknown or doubled components by
/// name, text where a number is needed, negative amounts, a table with a component column only, a
/// printed total outside 90 to 110 mol%.
Result<ReportTable> read_report(std::string_view bytes, std::string const& source);

}  // namespace gw::trace
