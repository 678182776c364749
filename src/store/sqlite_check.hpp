#pragma once
/// The check of a file that may hold anything. Private to this folder.
#include "store/database.hpp"
#include "store/sqlite_store.hpp"

namespace gw::store {

Result<Checked> checked(Database const& database,
                        std::span<Migration const> migrations,
                        std::optional<Head> const& known);

}  // namespace gw::store
