#include "store/schema.hpp"

#include <fmt/format.h>
#include <sys/random.h>

#include <array>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "store/sqlite_rows.hpp"
#include "store_schemas.hpp"

namespace gw::store {

namespace {

constexpr int application = 0x47617377;  // the letters "Gasw": tells this file from any other

Result<> set_up(Database const& database) {
    // Full: the log is forced to the disk at every commit, so what was acknowledged outlives a cut
    // of the power. The log takes effect for readers at once and keeps them out of nobody's way.
    return database.run(
        "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON;"
        "PRAGMA cell_size_check = ON; PRAGMA trusted_schema = OFF");
}

Result<std::int64_t> number_of(Database const& database, std::string_view sql) {
    GW_TRY(auto query, database.query(sql));
    GW_TRY([[maybe_unused]] bool const there, query.step());
    return query.number(0);
}

Result<bool> is_empty(Database const& database) {
    GW_TRY(auto const tables, number_of(database, "SELECT count(*) FROM sqlite_master"));
    return tables == 0;
}

std::string random_word() {
    std::array<unsigned char, 8> bytes{};
    std::string out;
    if (getrandom(bytes.data(), bytes.size(), 0) != static_cast<ssize_t>(bytes.size())) return "0";
    for (auto const byte : bytes) out += fmt::format("{:02x}", byte);
    return out;
}

Append store_entry(StoreOptions const& options, char const* kind, Json body) {
    Append out;
    out.entries.push_back({options.now, "store", kind, options.who, std::move(body), {}});
    return out;
}

// Every step behind `from`, up to and with `to`; the caller commits.
Result<> apply(Database const& database, StoreOptions const& options, int from, int to) {
    for (auto const& step : options.migrations)
        if (step.to > from && step.to <= to) GW_CHECK(database.run(std::string(step.sql)));
    return database.run(
        fmt::format("PRAGMA user_version = {}; PRAGMA application_id = {}", to, application));
}

Result<> create(Database const& database, StoreOptions const& options, int form) {
    GW_TRY(auto transaction, Transaction::begin(database, true));
    GW_TRY(bool const still_empty, is_empty(database));
    if (!still_empty) return {};  // another process was quicker
    GW_CHECK(apply(database, options, 0, form));
    GW_CHECK(append_inside(
        database, store_entry(options, "store", Json{{"form", form}, {"id", random_word()}})));
    return transaction.commit();
}

Result<> require_file(StoreOptions const& options) {
    std::error_code problem;
    std::filesystem::path const path(options.file);
    if (std::filesystem::is_directory(path, problem))
        return fail(Errc::io, "This is a folder, not a store.", options.file, "name a file");
    if (std::filesystem::exists(path, problem)) return {};
    if (!options.create)
        return fail(Errc::io,
                    "There is no store here.",
                    options.file,
                    "make one with gaswright visit new or thing add, or give --store FILE");
    if (path.has_parent_path()) std::filesystem::create_directories(path.parent_path(), problem);
    if (problem)
        return fail(Errc::io,
                    fmt::format("The folder of the store cannot be made ({}).", problem.message()),
                    options.file,
                    "name another place with --store");
    return {};
}

}  // namespace

std::span<Migration const> shipped_migrations() {
    static std::array<Migration, 1> const all = {{{1, generated::store_schemas[0].text}}};
    return all;
}

Result<int> form_of(Database const& database) {
    GW_TRY(auto const form, number_of(database, "PRAGMA user_version"));
    return static_cast<int>(form);
}

Result<Database> open_as_it_is(StoreOptions const& options) {
    GW_CHECK(require_file(options));
    return Database::open(options.file, options.create ? Open::create : Open::read_write);
}

Result<Database> open_at_form(StoreOptions const& options) {
    GW_TRY(auto database, open_as_it_is(options));
    GW_TRY(bool const empty, is_empty(database));
    int const ours = options.migrations.back().to;
    if (empty) {
        if (!options.create)
            return fail(
                Errc::io, "The file holds no store.", options.file, "give the right --store FILE");
        GW_CHECK(set_up(database));
        GW_CHECK(create(database, options, ours));
    }
    GW_TRY(auto const kind, number_of(database, "PRAGMA application_id"));
    GW_TRY(int const form, form_of(database));
    if (kind != application || form < 1)
        return fail(Errc::bad_input,
                    "This is a database of another program.",
                    options.file,
                    "give the right --store FILE");
    if (form > ours)
        return fail(Errc::bad_input,
                    fmt::format("The store has form {}; this program knows up to {}.", form, ours),
                    options.file,
                    "use the newer program that wrote it");
    if (form < ours)
        return fail(Errc::bad_input,
                    fmt::format("The store has form {}; this program writes form {}.", form, ours),
                    options.file,
                    "run gaswright store migrate");
    GW_CHECK(set_up(database));
    return database;
}

Result<> create_at_form(StoreOptions const& options, int form) {
    GW_TRY(auto const database, open_as_it_is(options));
    GW_CHECK(set_up(database));
    return create(database, options, form);
}

Result<Migrated> migrate_store(StoreOptions const& options) {
    GW_TRY(auto const database, open_as_it_is(options));
    GW_TRY(auto const kind, number_of(database, "PRAGMA application_id"));
    GW_TRY(int const form, form_of(database));
    int const ours = options.migrations.back().to;
    if (kind != application || form < 1)
        return fail(
            Errc::bad_input, "This is no store.", options.file, "give the right --store FILE");
    if (form > ours)
        return fail(Errc::bad_input,
                    fmt::format("The store has form {}; this program knows up to {}.", form, ours),
                    options.file,
                    "use the newer program that wrote it");
    Migrated out{form, ours, {}};
    if (form == ours) return out;
    out.backup = fmt::format("{}.before-form-{}", options.file, ours);
    GW_CHECK(set_up(database));
    GW_CHECK(copy_new(database, out.backup));
    GW_TRY(auto transaction, Transaction::begin(database, true));
    GW_TRY(int const now, form_of(database));
    if (now != form) return Migrated{now, now, out.backup};  // another process was quicker
    GW_CHECK(apply(database, options, form, ours));
    GW_CHECK(make_register(database));
    GW_CHECK(append_inside(database,
                           store_entry(options, "migrated", Json{{"form", ours}, {"from", form}})));
    GW_CHECK(transaction.commit());
    return out;
}

}  // namespace gw::store
