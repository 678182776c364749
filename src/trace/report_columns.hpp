#pragma once
/// The columns and header keys of a report table, and the rules every form of it must keep.
/// Private to the readers of reports.
#include <optional>
#include <string>
#include <string_view>

#include "base/result.hpp"
#include "trace/report_table.hpp"

namespace gw::trace {

enum class ReportColumn {
    component,
    retention,
    area,
    height,
    mole_percent,
    factor,
    detector,
    unused
};

struct ColumnMeaning {
    ReportColumn column = ReportColumn::unused;
    double scale = 1;                          ///< mole fraction to mol%
    std::optional<double> seconds_per_time{};  ///< of a retention whose title states its unit
};

/// Loosely matched: case, blanks, hyphens, underscores and points do not matter; a unit may follow.
ColumnMeaning column_meaning(std::string_view title);

/// "total", "sum" and the like in place of a component.
bool names_a_total(std::string_view cell);
/// "", "-", "n/a": nothing was printed.
bool means_absent(std::string_view cell);

/// Gathers rows and header keys from any form of the table and holds them to the rules.
class ReportBuilder {
  public:
    explicit ReportBuilder(ReportTable& table) : table_(table) {}

    /// Keeps the key; understands the known ones. Refuses a known key with a value it cannot have.
    Result<> entry(std::string const& key, std::string const& value, std::string const& where);
    Result<> start_row(std::string_view component, std::string const& where);
    Result<> value(ColumnMeaning const& meaning, double number, std::string const& where);
    /// Once every row and key is in: seconds per unit, total, warnings.
    Result<> finish(std::optional<double> printed_total);

    /// True for the keys that mean something here ("factor_kind", "factor kind", ...).
    static bool is_known_key(std::string_view key);

  private:
    ReportTable& table_;
    std::optional<double> time_unit_;       ///< seconds
    std::vector<bool> retention_has_unit_;  ///< one per row
    int detector_ = 1;
};

Result<ReportTable> read_report_json(std::string_view bytes, std::string const& source);

}  // namespace gw::trace
