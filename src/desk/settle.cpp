#include "desk/settle.hpp"

#include "base/file.hpp"

namespace gw::desk {

Result<Settled> settle(std::string const& series, std::optional<std::string> const& limits) {
    std::optional<visit::SettleLimits> stated;
    if (limits) {
        GW_TRY(auto const bytes, read_file(*limits));
        GW_TRY(auto const document, parse_json(bytes, *limits));
        GW_TRY(stated, visit::read_settle_limits(document.root()));
    }
    GW_TRY(auto const bytes, read_file(series));
    GW_TRY(auto table, trace::read_series(bytes, series));
    auto settlement = visit::settle(table, stated);
    return Settled{std::move(table), std::move(settlement)};
}

}  // namespace gw::desk
