#include "store/database.hpp"

#include <fmt/format.h>
#include <sqlite3.h>

#include <utility>

namespace gw::store {

namespace {

constexpr int patience_ms = 10000;  // for another process to finish its entry

}  // namespace

Query::~Query() {
    if (statement_ == nullptr) return;
    sqlite3_reset(statement_);
    sqlite3_clear_bindings(statement_);
}

Query& Query::bind(int parameter, std::string_view text) {
    sqlite3_bind_text(
        statement_, parameter, text.data(), static_cast<int>(text.size()), SQLITE_TRANSIENT);
    return *this;
}

Query& Query::bind(int parameter, std::int64_t number) {
    sqlite3_bind_int64(statement_, parameter, number);
    return *this;
}

Query& Query::bind_blob(int parameter, std::string_view bytes) {
    // An empty view may hold no address, which would bind NULL.
    sqlite3_bind_blob64(
        statement_, parameter, bytes.empty() ? "" : bytes.data(), bytes.size(), SQLITE_STATIC);
    return *this;
}

Result<bool> Query::step() {
    switch (sqlite3_step(statement_)) {
        case SQLITE_ROW:
            return true;
        case SQLITE_DONE:
            return false;
        default:
            return database_->failure();
    }
}

Result<> Query::run() {
    GW_TRY([[maybe_unused]] bool const row, step());
    return {};
}

std::string Query::text(int column) const {
    auto const* bytes = sqlite3_column_text(statement_, column);
    auto const size = sqlite3_column_bytes(statement_, column);
    return bytes == nullptr
               ? std::string()
               : std::string(reinterpret_cast<char const*>(bytes), static_cast<std::size_t>(size));
}

std::int64_t Query::number(int column) const { return sqlite3_column_int64(statement_, column); }

std::string Query::blob(int column) const {
    auto const* bytes = static_cast<char const*>(sqlite3_column_blob(statement_, column));
    auto const size = sqlite3_column_bytes(statement_, column);
    return bytes == nullptr ? std::string() : std::string(bytes, static_cast<std::size_t>(size));
}

Database::Database(Database&& other) noexcept
    : handle_(std::exchange(other.handle_, nullptr)),
      path_(std::move(other.path_)),
      prepared_(std::exchange(other.prepared_, {})) {}

Database& Database::operator=(Database&& other) noexcept {
    if (this != &other) {
        close();
        handle_ = std::exchange(other.handle_, nullptr);
        path_ = std::move(other.path_);
        prepared_ = std::exchange(other.prepared_, {});
    }
    return *this;
}

Database::~Database() { close(); }

void Database::close() {
    for (auto const& [sql, statement] : prepared_) sqlite3_finalize(statement);
    prepared_.clear();
    sqlite3_close(std::exchange(handle_, nullptr));
}

Result<Database> Database::open(std::string const& path, Open how) {
    sqlite3* handle = nullptr;
    int const flags = SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_EXRESCODE |
                      (how == Open::create ? SQLITE_OPEN_CREATE : 0);
    int const code = sqlite3_open_v2(path.c_str(), &handle, flags, nullptr);
    Database out(handle, path);
    if (code != SQLITE_OK)
        return fail(Errc::io,
                    fmt::format("The store cannot be opened ({}).", sqlite3_errstr(code)),
                    path,
                    "check the name, the folder and who may write there");
    sqlite3_busy_timeout(handle, patience_ms);
    // The file may come from somebody else: no function and no view of its schema is trusted.
    sqlite3_db_config(handle, SQLITE_DBCONFIG_DEFENSIVE, 1, nullptr);
    sqlite3_db_config(handle, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, nullptr);
    sqlite3_db_config(handle, SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, nullptr);
    sqlite3_db_config(handle, SQLITE_DBCONFIG_ENABLE_VIEW, 0, nullptr);
    return out;
}

Result<Query> Database::query(std::string_view sql) const {
    std::string const key(sql);
    auto found = prepared_.find(key);
    if (found == prepared_.end()) {
        sqlite3_stmt* statement = nullptr;
        if (sqlite3_prepare_v3(
                handle_, key.c_str(), -1, SQLITE_PREPARE_PERSISTENT, &statement, nullptr) !=
            SQLITE_OK)
            return failure();
        found = prepared_.emplace(key, statement).first;
    }
    return Query(*this, found->second);
}

Result<> Database::run(std::string const& sql) const {
    if (sqlite3_exec(handle_, sql.c_str(), nullptr, nullptr, nullptr) != SQLITE_OK)
        return failure();
    return {};
}

bool Database::damaged() const {
    int const code = sqlite3_errcode(handle_) & 0xFF;
    return code == SQLITE_CORRUPT || code == SQLITE_NOTADB || code == SQLITE_ERROR ||
           code == SQLITE_FORMAT || code == SQLITE_SCHEMA;
}

tl::unexpected<Error> Database::failure() const {
    auto const said = std::string(sqlite3_errmsg(handle_));
    switch (sqlite3_errcode(handle_) & 0xFF) {
        case SQLITE_BUSY:
        case SQLITE_LOCKED:
            return fail(Errc::busy,
                        "Another program is writing into the store.",
                        path_,
                        "try again in a moment");
        case SQLITE_FULL:
            return fail(Errc::io,
                        "The disk is full; nothing was recorded.",
                        path_,
                        "make room on it and repeat");
        case SQLITE_NOTADB:
        case SQLITE_CORRUPT:
            return fail(Errc::io,
                        fmt::format("The store is damaged or no store at all ({}).", said),
                        path_,
                        "run gaswright store check, and go back to a backup");
        case SQLITE_READONLY:
        case SQLITE_PERM:
        case SQLITE_AUTH:
            return fail(
                Errc::io, "The store may not be written.", path_, "check who may write there");
        default:
            return fail(Errc::io,
                        fmt::format("The store failed ({}); nothing was recorded.", said),
                        path_,
                        "check the disk and its free space");
    }
}

Result<> Database::copy_to(std::string const& path) const {
    auto target = open(path, Open::create);
    if (!target) return pass_on(target.error());
    auto* const backup = sqlite3_backup_init(target->handle_, "main", handle_, "main");
    if (backup == nullptr) return target->failure();
    int code = SQLITE_OK;
    for (int waits = 0; waits < patience_ms / 10; ++waits) {
        code = sqlite3_backup_step(backup, -1);
        if (code != SQLITE_BUSY && code != SQLITE_LOCKED) break;
        sqlite3_sleep(10);
    }
    sqlite3_backup_finish(backup);
    if (code != SQLITE_DONE)
        return fail(Errc::io,
                    fmt::format("The copy failed ({}).", sqlite3_errstr(code)),
                    path,
                    "check the disk");
    // One closed file: without a log beside it that could be left behind.
    return target->run("PRAGMA journal_mode = DELETE");
}

Result<Transaction> Transaction::begin(Database const& database, bool to_write) {
    GW_CHECK(database.run(to_write ? "BEGIN IMMEDIATE" : "BEGIN"));
    return Transaction(database);
}

Transaction::~Transaction() {
    // A failed statement may have rolled back already; then there is nothing left to undo.
    if (database_ != nullptr) (void)database_->run("ROLLBACK");
}

Result<> Transaction::commit() {
    GW_CHECK(database_->run("COMMIT"));
    database_ = nullptr;
    return {};
}

}  // namespace gw::store
