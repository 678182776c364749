#pragma once
/// Thin owners of an SQLite connection and its statements. Private to this folder.
#include <cstdint>
#include <memory>
#include <string>
#include <string_view>
#include <unordered_map>
#include <utility>

#include "base/result.hpp"

struct sqlite3;
struct sqlite3_stmt;

namespace gw::store {

enum class Open { read_write, create };

class Database;

/// A prepared statement in use; reset when it leaves. Columns and parameters count from 0 and 1.
class Query {
  public:
    Query(Database const& database, sqlite3_stmt* statement)
        : database_(&database), statement_(statement) {}
    Query(Query&& other) noexcept
        : database_(other.database_), statement_(std::exchange(other.statement_, nullptr)) {}
    Query(Query const&) = delete;
    Query& operator=(Query const&) = delete;
    Query& operator=(Query&&) = delete;
    ~Query();

    Query& bind(int parameter, std::string_view text);
    Query& bind(int parameter, std::int64_t number);
    Query& bind_blob(int parameter, std::string_view bytes);  ///< must outlive the query
    /// True while there is a row.
    Result<bool> step();
    /// Of a query that answers nothing.
    Result<> run();
    [[nodiscard]] std::string text(int column) const;
    [[nodiscard]] std::int64_t number(int column) const;
    [[nodiscard]] std::string blob(int column) const;

  private:
    Database const* database_;
    sqlite3_stmt* statement_;
};

class Database {
  public:
    static Result<Database> open(std::string const& path, Open how);
    Database(Database&&) noexcept;
    Database& operator=(Database&&) noexcept;
    Database(Database const&) = delete;
    Database& operator=(Database const&) = delete;
    ~Database();

    /// Prepared once for each text. Fails when the text does not fit the schema.
    [[nodiscard]] Result<Query> query(std::string_view sql) const;
    Result<> run(std::string const& sql) const;  ///< one or several statements without answer
    /// What went wrong last, as one sentence; busy and full told apart from damage.
    [[nodiscard]] tl::unexpected<Error> failure() const;
    [[nodiscard]] bool damaged() const;  ///< the last failure was damage of the file
    [[nodiscard]] std::string const& path() const { return path_; }
    [[nodiscard]] Result<> copy_to(std::string const& path) const;

  private:
    Database(sqlite3* handle, std::string path) : handle_(handle), path_(std::move(path)) {}
    void close();
    sqlite3* handle_ = nullptr;
    std::string path_;
    mutable std::unordered_map<std::string, sqlite3_stmt*> prepared_;
};

/// Rolls back unless it was committed. `exclusive`: takes the right to write at once.
class Transaction {
  public:
    static Result<Transaction> begin(Database const& database, bool to_write);
    Transaction(Transaction&& other) noexcept
        : database_(std::exchange(other.database_, nullptr)) {}
    Transaction(Transaction const&) = delete;
    Transaction& operator=(Transaction const&) = delete;
    Transaction& operator=(Transaction&&) = delete;
    ~Transaction();
    Result<> commit();

  private:
    explicit Transaction(Database const& database) : database_(&database) {}
    Database const* database_;
};

}  // namespace gw::store
