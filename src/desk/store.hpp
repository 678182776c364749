#pragma once
/// Where the record is, and its care: check, backup, migration.
#include <memory>
#include <optional>
#include <string>

#include "store/sqlite_store.hpp"

namespace gw::desk {

/// `asked`, else $XDG_DATA_HOME/gaswright/gaswright.db, else ~/.local/share/gaswright/gaswright.db.
/// The environment is the caller's: empty where a variable is not set.
std::string store_file(std::string const& asked,
                       std::string const& data_home,
                       std::string const& home);

Json checked_json(store::Checked const& checked);
std::string checked_text(store::Checked const& checked, std::string const& file);

/// "42:HASH" as `store check` prints it: a head noted elsewhere.
Result<store::Head> read_head(std::string const& text, std::string const& where);

}  // namespace gw::desk
