// Any bytes: a table that keeps the rules of report_table.hpp, or one clear refusal.
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <optional>
#include <set>
#include <string_view>

#include "trace/report_table.hpp"

namespace {

void require(bool holds) {
    if (!holds) std::abort();
}

void require_finite(std::optional<double> const& value) {
    require(!value || std::isfinite(*value));
}

void check(gw::trace::ReportTable const& table) {
    require(!table.rows.empty());
    std::set<gw::gas::Component> seen;
    for (auto const& row : table.rows) {
        require(seen.insert(row.component).second);
        for (auto const& value :
             {row.retention_s, row.area, row.height, row.mole_percent, row.factor})
            require_finite(value);
        require(!row.retention_s || *row.retention_s >= 0);
        require(!row.factor || *row.factor > 0);
        require(row.detector >= 1);
    }
    require_finite(table.mole_percent_sum());
    require_finite(table.printed_cv);
    require_finite(table.unnormalised_total);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(std::uint8_t const* bytes, std::size_t size) {
    std::string_view const text(reinterpret_cast<char const*>(bytes), size);
    auto const table = gw::trace::read_report(text, "fuzz.csv");
    if (table)
        check(*table);
    else
        require(!table.error().what.empty() && !table.error().where.empty());
    return 0;
}
