// Any bytes: a history whose time rises, whose stretches are whole blocks of numbers within what
// was asked for, and whose charts can be made; or one clear refusal.
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <cstring>
#include <string_view>

#include "desk/history.hpp"

namespace {

void require(bool holds) {
    if (!holds) std::abort();
}

std::uint32_t count_of(std::string const& block) {
    std::uint32_t n = 0;
    require(block.size() >= 8);
    std::memcpy(&n, block.data(), sizeof n);
    return n;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(std::uint8_t const* bytes, std::size_t size) {
    std::string_view const text(reinterpret_cast<char const*>(bytes), size);
    auto const history = gw::desk::read_history(text, "fuzz.csv");
    if (!history) {
        require(!history.error().what.empty() && !history.error().where.empty());
        return 0;
    }
    auto const& series = history->series;
    require(!series.t.empty() && series.events.size() == series.t.size());
    for (std::size_t i = 1; i < series.t.size(); ++i) require(series.t[i] > series.t[i - 1]);
    auto const told = gw::desk::history_json(*history);
    require(told["rows"] == series.t.size());
    for (auto const& column : series.columns) {
        for (double const y : column.y) require(std::isfinite(y));
        if (column.y.empty()) continue;
        auto const block =
            gw::desk::history_block(*history, {column.name, series.t.front(), series.t.back(), 16});
        require(block.has_value());
        auto const n = count_of(*block);
        require(n >= 1 && n <= 16 && block->size() == 8 + 16 * static_cast<std::size_t>(n));
    }
    if (series.t.size() <= 60 && series.columns.size() <= 4)
        for (auto const& column : series.columns)
            require(gw::desk::history_chart(*history, column.name).has_value());
    return 0;
}
