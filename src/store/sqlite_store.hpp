#pragma once
/// The record in one file of SQLite: write-ahead log, every commit forced to the disk before it is
/// acknowledged, several processes at once. One thread at a time may use one SqliteStore.
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "store/store.hpp"

namespace gw::store {

/// The step from form `to` - 1 to form `to`.
struct Migration {
    int to{};
    std::string_view sql;
};
std::span<Migration const> shipped_migrations();

struct StoreOptions {
    std::string file;
    Instant now;  ///< for the entry that a new store begins with
    std::string who = "gaswright";
    bool create = false;  ///< make file and folder when they are absent
    std::span<Migration const> migrations = shipped_migrations();  ///< the last one's form is ours
};

/// Opens the store of a file. Refuses one of an older form (migrate it first), of a newer one, and
/// any other file.
Result<std::unique_ptr<Store>> open_store(StoreOptions const& options);

/// Checks a file that may be damaged in any way: what cannot be read is a fault found, not an
/// error. Fails only when there is no file or it may not be read.
Result<Checked> check_store(StoreOptions const& options, std::optional<Head> const& known);

/// Brings a store to the form of this program, after copying it to "FILE.before-form-N". All of it
/// happens or nothing.
Result<Migrated> migrate_store(StoreOptions const& options);

/// Adds the step of a migration as it was at an earlier form: for tests of every earlier form.
Result<> create_at_form(StoreOptions const& options, int form);

}  // namespace gw::store
