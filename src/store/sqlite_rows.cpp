#include "store/sqlite_rows.hpp"

#include <fmt/format.h>

#include <filesystem>

#include "base/hash.hpp"
#include "base/text.hpp"
#include "store/packed.hpp"
#include "store/rules.hpp"

namespace gw::store {

namespace {

constexpr std::size_t entries_at_once = 1000;  // of make_register: memory stays small

Result<> keep_evidence(Database const& database, std::string_view bytes) {
    auto const hash = sha256(bytes);
    {
        GW_TRY(auto there, database.query("SELECT 1 FROM evidence WHERE sha256 = ?1"));
        there.bind(1, hash);
        GW_TRY(bool const known, there.step());
        if (known) return {};
    }
    GW_TRY(auto const kept, packed(bytes));
    GW_TRY(auto insert,
           database.query("INSERT INTO evidence (sha256, size, coding, kept_sha256, kept)"
                          " VALUES (?1, ?2, 'zstd', ?3, ?4)"));
    insert.bind(1, hash)
        .bind(2, static_cast<std::int64_t>(bytes.size()))
        .bind(3, sha256(kept))
        .bind_blob(4, kept);
    return insert.run();
}

Result<> require_evidence(Database const& database, std::string const& hash) {
    GW_TRY(auto query, database.query("SELECT 1 FROM evidence WHERE sha256 = ?1"));
    query.bind(1, hash);
    GW_TRY(bool const there, query.step());
    if (!there) return no_such_evidence(hash);
    return {};
}

Result<> keep_entry(Database const& database, Entry const& entry) {
    GW_TRY(
        auto insert,
        database.query(
            "INSERT INTO journal (sequence, recorded, subject, kind, who, evidence, body, previous,"
            " hash) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)"));
    insert.bind(1, entry.sequence)
        .bind(2, entry.recorded)
        .bind(3, entry.subject)
        .bind(4, entry.kind)
        .bind(5, entry.who)
        .bind(6, joined(entry.evidence, " "))
        .bind(7, entry.body)
        .bind(8, entry.previous)
        .bind(9, entry.hash);
    return insert.run();
}

Result<> put(Database const& database, VisitLine const& line) {
    GW_TRY(
        auto query,
        database.query(
            "INSERT OR REPLACE INTO visits (visit, analyser, plan, title, opened, changed, state,"
            " until, owner, entries, last) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11)"));
    query.bind(1, line.visit)
        .bind(2, line.analyser)
        .bind(3, line.plan)
        .bind(4, line.title)
        .bind(5, line.opened)
        .bind(6, line.changed)
        .bind(7, line.state)
        .bind(8, line.until)
        .bind(9, line.owner)
        .bind(10, line.entries)
        .bind(11, line.last);
    return query.run();
}

Result<> put(Database const& database, ThingLine const& line) {
    GW_TRY(auto query,
           database.query(
               "INSERT OR REPLACE INTO things (thing, kind, id, body, due, changed, entries, last)"
               " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)"));
    query.bind(1, line.thing)
        .bind(2, line.kind)
        .bind(3, line.id)
        .bind(4, line.body)
        .bind(5, line.due)
        .bind(6, line.changed)
        .bind(7, line.entries)
        .bind(8, line.last);
    return query.run();
}

Result<> put_head(Database const& database, Head const& head) {
    GW_TRY(auto query,
           database.query("INSERT OR REPLACE INTO head (one, entries, hash) VALUES (1, ?1, ?2)"));
    query.bind(1, head.entries).bind(2, head.hash);
    return query.run();
}

// The line of the entry's subject, with the entry, which stands in the journal already.
Result<> note_in_register(Database const& database, Entry const& entry) {
    auto const about = visit::about(entry);
    if (about == visit::About::other) return {};
    if (visit::needs_whole_history(entry)) {
        GW_TRY(auto const history, entries_of(database, entry.subject));
        return about == visit::About::visit ? put(database, visit::visit_line(history))
                                            : put(database, visit::thing_line(history));
    }
    auto const one =
        [&](auto read, std::string_view columns, char const* where, auto line) -> Result<> {
        {
            GW_TRY(auto query, database.query(std::string(columns) + where));
            query.bind(1, entry.subject);
            GW_TRY(auto lines, read(query));
            if (!lines.empty()) line = lines.front();
        }
        visit::note(line, entry);
        return put(database, line);
    };
    return about == visit::About::visit
               ? one(visit_lines, visit_columns, " WHERE visit = ?1", VisitLine{})
               : one(thing_lines, thing_columns, " WHERE thing = ?1", ThingLine{});
}

}  // namespace

Entry entry_row(Query const& row) {
    Entry out;
    out.sequence = row.number(0);
    out.recorded = row.text(1);
    out.subject = row.text(2);
    out.kind = row.text(3);
    out.who = row.text(4);
    if (auto const hashes = row.text(5); !hashes.empty())
        for (auto const hash : split(hashes, ' ')) out.evidence.emplace_back(hash);
    out.body = row.text(6);
    out.previous = row.text(7);
    out.hash = row.text(8);
    return out;
}

Result<std::vector<Entry>> entries(Query& query) {
    std::vector<Entry> out;
    while (true) {
        GW_TRY(bool const more, query.step());
        if (!more) return out;
        out.push_back(entry_row(query));
    }
}

Result<std::vector<VisitLine>> visit_lines(Query& query) {
    std::vector<VisitLine> out;
    while (true) {
        GW_TRY(bool const more, query.step());
        if (!more) return out;
        out.push_back({query.text(0),
                       query.text(1),
                       query.text(2),
                       query.text(3),
                       query.text(4),
                       query.text(5),
                       query.text(6),
                       query.text(7),
                       query.text(8),
                       query.number(9),
                       query.number(10)});
    }
}

Result<std::vector<ThingLine>> thing_lines(Query& query) {
    std::vector<ThingLine> out;
    while (true) {
        GW_TRY(bool const more, query.step());
        if (!more) return out;
        out.push_back({query.text(0),
                       query.text(1),
                       query.text(2),
                       query.text(3),
                       query.text(4),
                       query.text(5),
                       query.number(6),
                       query.number(7)});
    }
}

Result<std::vector<Entry>> entries_of(Database const& database, std::string const& subject) {
    GW_TRY(auto query,
           database.query(std::string(entry_columns) + " WHERE subject = ?1 ORDER BY sequence"));
    query.bind(1, subject);
    return entries(query);
}

Result<Head> last_entry(Database const& database) {
    GW_TRY(auto query,
           database.query("SELECT sequence, hash FROM journal ORDER BY sequence DESC LIMIT 1"));
    GW_TRY(bool const there, query.step());
    return there ? Head{query.number(0), query.text(1)} : Head{};
}

Result<Head> kept_head(Database const& database) {
    GW_TRY(auto query, database.query("SELECT entries, hash FROM head"));
    GW_TRY(bool const there, query.step());
    return there ? Head{query.number(0), query.text(1)} : Head{};
}

Result<std::vector<Entry>> append_inside(Database const& database, Append const& what) {
    GW_TRY(auto head, last_entry(database));
    GW_TRY(auto const noted, kept_head(database));
    if (!(noted == head))
        return fail(Errc::io,
                    "The end of the record was cut off or rewritten; nothing is added to it.",
                    database.path(),
                    "run gaswright store check, and go back to a backup");
    if (what.seen) {
        GW_TRY(auto query,
               database.query("SELECT ifnull(max(sequence), 0) FROM journal WHERE subject = ?1"));
        query.bind(1, what.seen->subject);
        GW_TRY([[maybe_unused]] bool const there, query.step());
        GW_CHECK(require_seen(*what.seen, query.number(0)));
    }
    for (auto const& bytes : what.evidence) GW_CHECK(keep_evidence(database, bytes));
    for (auto const bytes : what.borrowed) GW_CHECK(keep_evidence(database, bytes));
    std::vector<Entry> added;
    for (auto const& entry : what.entries) {
        GW_TRY(auto sealed, visit::seal(entry, head));
        for (auto const& hash : sealed.evidence) GW_CHECK(require_evidence(database, hash));
        GW_CHECK(keep_entry(database, sealed));
        GW_CHECK(note_in_register(database, sealed));
        head = {sealed.sequence, sealed.hash};
        added.push_back(std::move(sealed));
    }
    GW_CHECK(require_named(what, added));
    GW_CHECK(put_head(database, head));
    return added;
}

Result<> make_register(Database const& database) {
    GW_CHECK(database.run("DELETE FROM visits; DELETE FROM things; DELETE FROM head"));
    for (std::int64_t next = 1;;) {
        std::vector<Entry> some;
        {
            GW_TRY(auto query,
                   database.query(std::string(entry_columns) +
                                  " WHERE sequence >= ?1 ORDER BY sequence LIMIT ?2"));
            query.bind(1, next).bind(2, static_cast<std::int64_t>(entries_at_once));
            GW_TRY(some, entries(query));
        }
        if (some.empty()) break;
        for (auto const& entry : some) GW_CHECK(note_in_register(database, entry));
        next = some.back().sequence + 1;
    }
    GW_TRY(auto const head, last_entry(database));
    return put_head(database, head);
}

Result<> copy_new(Database const& database, std::string const& file) {
    std::error_code ignored;
    if (std::filesystem::exists(file, ignored))
        return fail(Errc::bad_input,
                    "There is a file of this name already; a backup overwrites nothing.",
                    file,
                    "name a new file");
    // Made beside the target and renamed: what bears the name is whole.
    auto const part = file + ".part";
    std::filesystem::remove(part, ignored);
    if (auto const copied = database.copy_to(part); !copied) {
        std::filesystem::remove(part, ignored);
        return copied;
    }
    std::error_code problem;
    std::filesystem::rename(part, file, problem);
    if (problem)
        return fail(Errc::io,
                    fmt::format("The copy cannot be named so ({}).", problem.message()),
                    file,
                    "name another file");
    return {};
}

}  // namespace gw::store
