#pragma once
/// Making, opening and migrating the file. Private to this folder.
#include "store/database.hpp"
#include "store/sqlite_store.hpp"

namespace gw::store {

Result<int> form_of(Database const& database);
/// Open, with the settings that every use needs, and of the form that this program writes.
Result<Database> open_at_form(StoreOptions const& options);
/// Open without a look at what is inside.
Result<Database> open_as_it_is(StoreOptions const& options);

}  // namespace gw::store
