#include "store/sqlite_check.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <fstream>
#include <nlohmann/json.hpp>

#include "base/hash.hpp"
#include "store/packed.hpp"
#include "store/rules.hpp"
#include "store/schema.hpp"
#include "store/sqlite_rows.hpp"

namespace gw::store {

namespace {

// SQLite's own check reads every page, every index and every column's type.
Result<> file_itself(Database const& database, ChainCheck& check) {
    GW_TRY(auto query, database.query("PRAGMA integrity_check(20)"));
    while (true) {
        GW_TRY(bool const more, query.step());
        if (!more) return {};
        if (auto const said = query.text(0); said != "ok")
            check.fault({}, fmt::format("the file is damaged: {}", said));
    }
}

Result<std::vector<std::string>> schema_rows(Database const& database) {
    std::vector<std::string> out;
    GW_TRY(
        auto query,
        database.query(
            "SELECT type, name, tbl_name, ifnull(sql, '') FROM sqlite_master ORDER BY type, name"));
    while (true) {
        GW_TRY(bool const more, query.step());
        if (!more) return out;
        out.push_back(query.text(0) + "|" + query.text(1) + "|" + query.text(2) + "|" +
                      query.text(3));
    }
}

// A trigger, a view or a changed column would make later records say something else.
Result<> schema(Database const& database,
                std::span<Migration const> migrations,
                ChainCheck& check) {
    int const form = migrations.back().to;
    GW_TRY(auto const fresh, Database::open(":memory:", Open::create));
    for (auto const& step : migrations) GW_CHECK(fresh.run(std::string(step.sql)));
    GW_TRY(auto const right, schema_rows(fresh));
    GW_TRY(auto const there, schema_rows(database));
    for (auto const& row : there)
        if (std::find(right.begin(), right.end(), row) == right.end())
            check.fault({}, fmt::format("the schema was changed: {}", row.substr(0, 80)));
    for (auto const& row : right)
        if (std::find(there.begin(), there.end(), row) == there.end())
            check.fault({},
                        fmt::format("the schema lacks {}",
                                    row.substr(0, row.find('|', row.find('|') + 1))));
    GW_TRY(int const said, form_of(database));
    if (said != form)
        check.fault({}, fmt::format("the file says form {} of the store, not {}", said, form));
    return {};
}

// The form that the record itself tells of: entries of subject "store".
void note_form(Entry const& entry, std::optional<int>& form) {
    if (entry.subject != "store") return;
    auto const body = visit::body_of(entry);
    if (!body) return;
    if (auto const value = body->root().optional_number("form"); value && *value)
        form = static_cast<int>(**value);
}

Result<> chain(Database const& database, ChainCheck& check, std::optional<int>& form) {
    GW_TRY(auto query, database.query(std::string(entry_columns) + " ORDER BY sequence"));
    while (!check.enough()) {
        GW_TRY(bool const more, query.step());
        if (!more) break;
        auto const entry = entry_row(query);
        check.next(entry);
        note_form(entry, form);
    }
    return {};
}

std::string fault_of_file(Query const& row) {
    if (row.text(2) != "zstd") return "it says another coding than zstd";
    auto const kept = row.blob(4);
    if (sha256(kept) != row.text(3)) return "what is kept of it was changed";
    auto const bytes = unpacked(kept, static_cast<std::size_t>(row.number(1)));
    if (!bytes) return bytes.error().what;
    if (sha256(*bytes) != row.text(0)) return "it is not the file of this name";
    return {};
}

Result<> files(Database const& database, ChainCheck& check) {
    GW_TRY(auto query,
           database.query(
               "SELECT sha256, size, coding, kept_sha256, kept FROM evidence ORDER BY sha256"));
    while (!check.enough()) {
        GW_TRY(bool const more, query.step());
        if (!more) break;
        check.file(query.text(0), fault_of_file(query));
    }
    return {};
}

Result<> lists(Database const& database, ChainCheck& check) {
    for (auto const& subject : check.to_fold_anew()) {
        GW_TRY(auto const history, entries_of(database, subject));
        check.folded(subject, history);
    }
    GW_TRY(auto visits, database.query(visit_columns));
    GW_TRY(auto const visit_list, visit_lines(visits));
    check.visit_lines(visit_list);
    GW_TRY(auto things, database.query(thing_columns));
    GW_TRY(auto const thing_list, thing_lines(things));
    check.thing_lines(thing_list);
    GW_TRY(auto const kept, kept_head(database));
    check.kept_head(kept);
    return {};
}

}  // namespace

Result<Checked> checked(Database const& database,
                        std::span<Migration const> migrations,
                        std::optional<Head> const& known) {
    int const form = migrations.back().to;
    ChainCheck check(known);
    auto const transaction = Transaction::begin(database, false);
    // What cannot be read any more is a fault of its own, and the rest is still looked at.
    auto const looked = [&](Result<> const& result) {
        if (result) return true;
        check.fault({}, fmt::format("the file is damaged: {}", result.error().what));
        return false;
    };
    if (!transaction) {
        if (transaction.error().code == Errc::busy) return pass_on(transaction.error());
        check.fault({}, fmt::format("the file is damaged: {}", transaction.error().what));
        return check.end();
    }
    (void)looked(file_itself(database, check));
    (void)looked(schema(database, migrations, check));
    std::optional<int> told;
    if (looked(chain(database, check, told))) {
        if (told && *told != form)
            check.fault({},
                        fmt::format("the record tells of form {}, the program of {}", *told, form));
        if (looked(files(database, check))) (void)looked(lists(database, check));
    }
    return check.end();
}

Result<Checked> check_store(StoreOptions const& options, std::optional<Head> const& known) {
    auto plain = options;
    plain.create = false;
    GW_TRY(auto const database, open_as_it_is(plain));
    if (std::ifstream in(options.file, std::ios::binary); !in)
        return fail(Errc::io, "The store cannot be read.", options.file, "check who may read it");
    return checked(database, options.migrations, known);
}

}  // namespace gw::store
