#include "store/sqlite_store.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "base/hash.hpp"
#include "base/text.hpp"
#include "store/packed.hpp"
#include "store/rules.hpp"
#include "store/schema.hpp"
#include "store/sqlite_check.hpp"
#include "store/sqlite_rows.hpp"

namespace gw::store {

namespace {

class SqliteStore final : public Store {
  public:
    SqliteStore(Database database, std::span<Migration const> migrations)
        : database_(std::move(database)), migrations_(migrations) {}

    Result<std::vector<Entry>> append(Append const& what) override {
        GW_TRY(auto transaction, Transaction::begin(database_, true));
        GW_TRY(auto added, append_inside(database_, what));
        GW_CHECK(transaction.commit());
        return added;
    }

    [[nodiscard]] Result<std::vector<Entry>> of_subject(std::string const& subject) const override {
        return entries_of(database_, subject);
    }

    [[nodiscard]] Result<std::vector<Entry>> from(std::int64_t from,
                                                  std::size_t limit) const override {
        GW_TRY(auto query,
               database_.query(std::string(entry_columns) +
                               " WHERE sequence >= ?1 ORDER BY sequence LIMIT ?2"));
        query.bind(1, from).bind(2, static_cast<std::int64_t>(limit));
        return entries(query);
    }

    [[nodiscard]] Result<Head> head() const override { return last_entry(database_); }

    [[nodiscard]] Result<std::string> evidence(std::string const& hash) const override {
        GW_TRY(auto query, database_.query("SELECT size, kept FROM evidence WHERE sha256 = ?1"));
        query.bind(1, hash);
        GW_TRY(bool const there, query.step());
        if (!there) return no_such_evidence(hash);
        auto bytes = unpacked(query.blob(1), static_cast<std::size_t>(query.number(0)));
        if (!bytes || sha256(*bytes) != hash)
            return fail(Errc::io,
                        fmt::format("The file {} is damaged.", hash),
                        database_.path(),
                        "run gaswright store check, and go back to a backup");
        return bytes;
    }

    [[nodiscard]] Result<std::vector<VisitLine>> visits(VisitFilter const& which) const override {
        GW_TRY(auto query,
               database_.query(std::string(visit_columns) +
                               " WHERE (?1 = '' OR analyser = ?1)"
                               " AND (?2 = 0 OR state IN ('open', 'interrupted'))"
                               " ORDER BY last DESC LIMIT ?3"));
        query.bind(1, which.analyser)
            .bind(2, std::int64_t{which.open_only ? 1 : 0})
            .bind(3, which.limit == 0 ? std::int64_t{-1} : static_cast<std::int64_t>(which.limit));
        return visit_lines(query);
    }

    [[nodiscard]] Result<std::vector<ThingLine>> things(std::string const& kind) const override {
        GW_TRY(auto query,
               database_.query(std::string(thing_columns) +
                               " WHERE (?1 = '' OR kind = ?1) ORDER BY kind, id"));
        query.bind(1, kind);
        return thing_lines(query);
    }

    [[nodiscard]] Result<std::optional<ThingLine>> thing(
        std::string const& subject) const override {
        GW_TRY(auto query, database_.query(std::string(thing_columns) + " WHERE thing = ?1"));
        query.bind(1, subject);
        GW_TRY(auto lines, thing_lines(query));
        return lines.empty() ? std::optional<ThingLine>() : lines.front();
    }

    [[nodiscard]] Result<std::optional<VisitLine>> visit(std::string const& id) const override {
        GW_TRY(auto query, database_.query(std::string(visit_columns) + " WHERE visit = ?1"));
        query.bind(1, id);
        GW_TRY(auto lines, visit_lines(query));
        return lines.empty() ? std::optional<VisitLine>() : lines.front();
    }

    [[nodiscard]] Result<Checked> check(std::optional<Head> const& known) const override {
        return checked(database_, migrations_, known);
    }

    [[nodiscard]] Result<> backup(std::string const& file) const override {
        return copy_new(database_, file);
    }

  private:
    Database database_;
    std::span<Migration const> migrations_;
};

}  // namespace

Result<std::unique_ptr<Store>> open_store(StoreOptions const& options) {
    GW_TRY(auto database, open_at_form(options));
    return std::unique_ptr<Store>(
        std::make_unique<SqliteStore>(std::move(database), options.migrations));
}

}  // namespace gw::store
