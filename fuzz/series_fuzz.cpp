// Any bytes: a series whose time rises and whose readings are finite, that settle and chart take
// without a fall; or one clear refusal.
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "visit/chart.hpp"
#include "visit/settle.hpp"

namespace {

void require(bool holds) {
    if (!holds) std::abort();
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(std::uint8_t const* bytes, std::size_t size) {
    std::string_view const text(reinterpret_cast<char const*>(bytes), size);
    auto const table = gw::trace::read_series(text, "fuzz.csv");
    if (!table) {
        require(!table.error().what.empty() && !table.error().where.empty());
        return 0;
    }
    require(!table->t.empty() && table->events.size() == table->t.size());
    for (std::size_t i = 1; i < table->t.size(); ++i) require(table->t[i] > table->t[i - 1]);
    for (auto const& column : table->columns) {
        require(column.t.size() == column.y.size() && column.row.size() == column.y.size());
        for (double const y : column.y) require(std::isfinite(y));
    }
    if (table->t.size() > 60 || table->columns.size() > 4) return 0;  // enough for the sums
    auto const settlement = gw::visit::settle(*table, {});
    require(settlement.quantities.size() <= table->columns.size());
    if (settlement.ready_at)
        require(*settlement.ready_from <= *settlement.ready_at &&
                *settlement.ready_at <= *settlement.ready_to);
    require(gw::visit::charts(*table, {}).has_value());
    return 0;
}
