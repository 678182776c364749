#pragma once
/// Rows of the tables as values, and one append inside a transaction. Private to this folder.
#include <string_view>
#include <vector>

#include "store/database.hpp"
#include "store/store.hpp"

namespace gw::store {

inline constexpr std::string_view entry_columns =
    "SELECT sequence, recorded, subject, kind, who, evidence, body, previous, hash FROM journal";
inline constexpr std::string_view visit_columns =
    "SELECT visit, analyser, plan, title, opened, changed, state, until, owner, entries, last FROM "
    "visits";
inline constexpr std::string_view thing_columns =
    "SELECT thing, kind, id, body, due, changed, entries, last FROM things";

Entry entry_row(Query const& row);
Result<std::vector<Entry>> entries(Query& query);
Result<std::vector<VisitLine>> visit_lines(Query& query);
Result<std::vector<ThingLine>> thing_lines(Query& query);
Result<std::vector<Entry>> entries_of(Database const& database, std::string const& subject);
Result<Head> last_entry(Database const& database);
Result<Head> kept_head(Database const& database);

/// Writes entries, files and register; the caller commits.
Result<std::vector<Entry>> append_inside(Database const& database, Append const& what);
/// Makes visits, things and head again from the journal; the caller commits.
Result<> make_register(Database const& database);
/// A copy in a file that must not be there yet; nothing half-made is left behind.
Result<> copy_new(Database const& database, std::string const& file);

}  // namespace gw::store
