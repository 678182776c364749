// What is true of the file alone: migration, copies, tampering, a full disk, sudden death.
#include "store/sqlite_store.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>
#include <sqlite3.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <random>
#include <thread>

#include "base/file.hpp"
#include "base/hash.hpp"

namespace gw::store {
namespace {

struct Folder {
    Folder() {
        std::string pattern = (std::filesystem::temp_directory_path() / "gw_store_XXXXXX").string();
        path = mkdtemp(pattern.data());
    }
    ~Folder() { std::filesystem::remove_all(path); }
    Folder(Folder const&) = delete;
    Folder& operator=(Folder const&) = delete;
    [[nodiscard]] std::string file(std::string const& name = "store.db") const {
        return path / name;
    }
    std::filesystem::path path;
};

StoreOptions at(std::string const& file, bool create = true) {
    StoreOptions out;
    out.file = file;
    out.create = create;
    return out;
}

Append note(std::string const& subject, int n, std::string const& bytes = {}) {
    Append out;
    out.entries.push_back({Instant{n, 0},
                           subject,
                           n == 0 ? "visit" : "note",
                           "A. Person",
                           Json{{"n", n}, {"analyser", "PX"}},
                           {}});
    if (!bytes.empty()) {
        out.entries[0].evidence = {sha256(bytes)};
        out.evidence = {bytes};
    }
    return out;
}

// A store with visits, things, evidence and an undo; closed again.
void fill(std::string const& file) {
    auto const store = open_store(at(file)).value();
    for (int visit = 0; visit < 3; ++visit)
        for (int n = 0; n < 6; ++n)
            ASSERT_TRUE(
                store->append(note(fmt::format("V-{}", visit),
                                   n,
                                   n % 2 == 0 ? "" : fmt::format("{:0500}", 10 * visit + n))));
    Append undo;
    undo.entries.push_back({Instant{9, 0}, "V-1", "undo", "B", Json{{"entry", 9}}, {}});
    undo.entries.push_back({Instant{9, 0},
                            "cylinder:K1",
                            "thing",
                            "B",
                            Json{{"set", {{"expires", "2027-01-02"}}}},
                            {}});
    ASSERT_TRUE(store->append(undo));
}

void sql(std::string const& file, std::string const& text) {
    sqlite3* handle = nullptr;
    ASSERT_EQ(sqlite3_open(file.c_str(), &handle), SQLITE_OK);
    char* said = nullptr;
    EXPECT_EQ(sqlite3_exec(handle, text.c_str(), nullptr, nullptr, &said), SQLITE_OK)
        << said << " of " << text;
    sqlite3_free(said);
    sqlite3_close(handle);
}

// Every value of every row, with its type: what the record says.
std::string content_of(std::string const& file) {
    sqlite3* handle = nullptr;
    std::string out;
    if (sqlite3_open(file.c_str(), &handle) == SQLITE_OK)
        for (std::string const query : {"SELECT * FROM journal ORDER BY sequence",
                                        "SELECT * FROM evidence ORDER BY sha256",
                                        "SELECT * FROM visits ORDER BY visit",
                                        "SELECT * FROM things ORDER BY thing",
                                        "SELECT * FROM head"}) {
            sqlite3_stmt* statement = nullptr;
            if (sqlite3_prepare_v2(handle, query.c_str(), -1, &statement, nullptr) != SQLITE_OK) {
                out += "unreadable";
                continue;
            }
            int code = SQLITE_OK;
            while ((code = sqlite3_step(statement)) == SQLITE_ROW)
                for (int i = 0; i < sqlite3_column_count(statement); ++i) {
                    out += fmt::format("{}:", sqlite3_column_type(statement, i));
                    auto const* bytes = static_cast<char const*>(sqlite3_column_blob(statement, i));
                    out.append(bytes == nullptr ? "" : bytes,
                               static_cast<std::size_t>(sqlite3_column_bytes(statement, i)));
                    out += '\n';
                }
            if (code != SQLITE_DONE) out += "unreadable";
            sqlite3_finalize(statement);
        }
    sqlite3_close(handle);
    return out;
}

TEST(SqliteStore, ComesBackAsItWas) {
    Folder const folder;
    fill(folder.file());
    auto const store = open_store(at(folder.file(), false)).value();
    EXPECT_EQ(store->head()->entries, 1 + 18 + 2);
    EXPECT_EQ(store->visits({})->size(), 3U);
    auto const checked = store->check({}).value();
    EXPECT_TRUE(checked.intact()) << checked.first_bad->what;
    EXPECT_EQ(checked.evidence, 9);
}

TEST(SqliteStore, IsMadeOnlyWhenAsked) {
    Folder const folder;
    auto const opened = open_store(at(folder.file(), false));
    ASSERT_FALSE(opened);
    EXPECT_EQ(opened.error().code, Errc::io);
    EXPECT_FALSE(std::filesystem::exists(folder.file()));
    EXPECT_TRUE(open_store(at(folder.file("deep/er/store.db"))));
}

TEST(SqliteStore, RefusesAnyOtherFile) {
    Folder const folder;
    ASSERT_TRUE(write_file(
        folder.file("text"),
        std::string("this is no database, but long enough to be looked at as one ......")));
    EXPECT_FALSE(open_store(at(folder.file("text"))));
    sql(folder.file("other"), "CREATE TABLE t (x)");
    EXPECT_FALSE(open_store(at(folder.file("other"))));
    EXPECT_FALSE(open_store(at(folder.path)));
    auto const checked = check_store(at(folder.file("text")), {});
    ASSERT_TRUE(checked);
    EXPECT_FALSE(checked->intact());
}

TEST(SqliteStore, CopiesWhileOthersWrite) {
    Folder const folder;
    fill(folder.file());
    auto const store = open_store(at(folder.file())).value();
    std::thread writer([&] {
        auto const other = open_store(at(folder.file())).value();
        for (int n = 1; n < 30; ++n) EXPECT_TRUE(other->append(note("V-0", n)));
    });
    auto const copied = store->backup(folder.file("copy.db"));
    writer.join();
    ASSERT_TRUE(copied) << copied.error().what;
    EXPECT_FALSE(store->backup(folder.file("copy.db")));
    auto const checked = check_store(at(folder.file("copy.db")), {}).value();
    EXPECT_TRUE(checked.intact()) << checked.first_bad->what;
    EXPECT_GE(checked.head.entries, 21);
    EXPECT_TRUE(store->check(checked.head)->intact());
}

TEST(SqliteStore, SeveralWritersKeepOneChain) {
    Folder const folder;
    { ASSERT_TRUE(open_store(at(folder.file()))); }
    std::vector<std::thread> writers;
    for (int w = 0; w < 4; ++w)
        writers.emplace_back([&, w] {
            auto const store = open_store(at(folder.file())).value();
            for (int n = 0; n < 25; ++n) {
                auto const added = store->append(note(fmt::format("V-{}", w), n));
                EXPECT_TRUE(added) << added.error().what;
            }
        });
    for (auto& writer : writers) writer.join();
    auto const checked = check_store(at(folder.file()), {}).value();
    EXPECT_TRUE(checked.intact()) << checked.first_bad->what;
    EXPECT_EQ(checked.head.entries, 101);
}

// ---- migration

constexpr std::string_view next_step = "CREATE TABLE later (x INTEGER) STRICT";

std::vector<Migration> with_a_later_form() {
    auto const shipped = shipped_migrations();
    std::vector<Migration> out(shipped.begin(), shipped.end());
    out.push_back({out.back().to + 1, next_step});
    return out;
}

TEST(Migration, ReachesTheLastFormFromEveryEarlierOne) {
    auto const steps = with_a_later_form();
    for (auto const& earlier : steps) {
        Folder const folder;
        auto options = at(folder.file());
        options.migrations = steps;
        ASSERT_TRUE(create_at_form(options, earlier.to));
        bool const last = earlier.to == steps.back().to;
        EXPECT_EQ(open_store(options).has_value(), last);
        auto const migrated = migrate_store(options);
        ASSERT_TRUE(migrated) << migrated.error().what;
        EXPECT_EQ(migrated->from, earlier.to);
        EXPECT_EQ(std::filesystem::exists(migrated->backup), !last);
        auto const store = open_store(options);
        ASSERT_TRUE(store) << store.error().what;
        auto const checked = (*store)->check({}).value();
        EXPECT_TRUE(checked.intact()) << checked.first_bad->what;
    }
}

TEST(Migration, KeepsWhatWasRecorded) {
    Folder const folder;
    fill(folder.file());
    auto const before = open_store(at(folder.file()))->get()->head().value();
    auto options = at(folder.file());
    auto const steps = with_a_later_form();
    options.migrations = steps;
    ASSERT_TRUE(migrate_store(options));
    auto const store = open_store(options).value();
    EXPECT_TRUE(store->check(before)->intact());
    EXPECT_EQ(store->visits({})->size(), 3U);
    EXPECT_FALSE(open_store(at(folder.file()))) << "an older program must refuse it";
}

TEST(Migration, HappensWholeOrNotAtAll) {
    Folder const folder;
    fill(folder.file());
    auto steps = with_a_later_form();
    steps.back().sql = "CREATE TABLE later (x INTEGER) STRICT; CREATE TABLE journal (x)";
    auto options = at(folder.file());
    options.migrations = steps;
    EXPECT_FALSE(migrate_store(options));
    EXPECT_TRUE(check_store(at(folder.file()), {})->intact());
}

// ---- tampering

TEST(Tampering, IsFoundInEveryColumnOfEveryTable) {
    Folder const folder;
    fill(folder.file());
    std::vector<std::pair<std::string, std::string>> columns;
    sqlite3* handle = nullptr;
    ASSERT_EQ(sqlite3_open(folder.file().c_str(), &handle), SQLITE_OK);
    sqlite3_stmt* statement = nullptr;
    ASSERT_EQ(sqlite3_prepare_v2(handle,
                                 "SELECT m.name, c.name || ' ' || c.type FROM sqlite_master m, "
                                 "pragma_table_info(m.name) c"
                                 " WHERE m.type = 'table'",
                                 -1,
                                 &statement,
                                 nullptr),
              SQLITE_OK);
    while (sqlite3_step(statement) == SQLITE_ROW)
        columns.emplace_back(reinterpret_cast<char const*>(sqlite3_column_text(statement, 0)),
                             reinterpret_cast<char const*>(sqlite3_column_text(statement, 1)));
    sqlite3_finalize(statement);
    sqlite3_close(handle);
    ASSERT_GT(columns.size(), 30U);
    for (auto const& [table, typed] : columns) {
        auto const column = typed.substr(0, typed.find(' '));
        if (column == "one") continue;  // the schema lets it be 1 only
        auto const copy = folder.file("tampered.db");
        std::filesystem::copy_file(
            folder.file(), copy, std::filesystem::copy_options::overwrite_existing);
        bool const number = typed.ends_with("INTEGER");
        sql(copy,
            fmt::format("UPDATE {0} SET {1} = {2} WHERE rowid = (SELECT max(rowid) FROM {0})",
                        table,
                        column,
                        number                    ? column + " + 1000"
                        : typed.ends_with("BLOB") ? "CAST(" + column + " || 'x' AS BLOB)"
                                                  : column + " || 'x'"));
        auto const checked = check_store(at(copy), {});
        ASSERT_TRUE(checked) << table << "." << column;
        EXPECT_FALSE(checked->intact()) << table << "." << column;
    }
}

TEST(Tampering, NamesTheEntry) {
    Folder const folder;
    fill(folder.file());
    sql(folder.file(), "UPDATE journal SET who = 'C. Person' WHERE sequence = 7");
    auto const checked = check_store(at(folder.file()), {}).value();
    ASSERT_FALSE(checked.intact());
    EXPECT_EQ(checked.first_bad->entry, 7);
    EXPECT_EQ(checked.faults, 1U) << "the entries after it are not at fault";
}

TEST(Tampering, IsFoundWhenRowsGoOrCome) {
    Folder const folder;
    fill(folder.file());
    for (std::string const change :
         {"DELETE FROM journal WHERE sequence = 5",
          "DELETE FROM journal WHERE sequence = (SELECT max(sequence) FROM journal)",
          "DELETE FROM evidence WHERE rowid = 3",
          "INSERT INTO evidence SELECT 'ab', size, coding, kept_sha256, kept FROM evidence LIMIT 1",
          "DELETE FROM visits WHERE visit = 'V-1'",
          "INSERT INTO visits SELECT 'V-9', analyser, plan, title, opened, changed, state, until, "
          "owner, entries, last FROM visits LIMIT 1",
          "DELETE FROM things",
          "DELETE FROM head",
          "CREATE TRIGGER t AFTER INSERT ON journal BEGIN DELETE FROM visits; END",
          "CREATE TABLE extra (x)",
          "DROP INDEX journal_of_subject",
          "PRAGMA user_version = 0",
          "PRAGMA user_version = 7"}) {
        auto const copy = folder.file("tampered.db");
        std::filesystem::copy_file(
            folder.file(), copy, std::filesystem::copy_options::overwrite_existing);
        sql(copy, change);
        auto const checked = check_store(at(copy), {});
        ASSERT_TRUE(checked) << change;
        EXPECT_FALSE(checked->intact()) << change;
        EXPECT_FALSE(checked->first_bad->what.empty());
    }
}

TEST(Tampering, NothingIsAddedToACutRecord) {
    Folder const folder;
    fill(folder.file());
    sql(folder.file(), "DELETE FROM journal WHERE sequence = (SELECT max(sequence) FROM journal)");
    auto const store = open_store(at(folder.file())).value();
    EXPECT_FALSE(store->append(note("V-0", 50)));
}

// A byte of the file changed: found, or the record says what it said before.
TEST(Tampering, AChangedByteIsFoundOrChangesNothing) {
    Folder const folder;
    fill(folder.file());
    auto const bytes = read_file(folder.file()).value();
    auto const before = content_of(folder.file());
    ASSERT_FALSE(before.empty());
    std::mt19937_64 random(20260302);
    int found = 0;
    int const rounds = 600;
    for (int round = 0; round < rounds; ++round) {
        auto changed = bytes;
        auto const where = random() % changed.size();
        changed[where] = static_cast<char>(changed[where] ^ static_cast<char>(1 + random() % 255));
        auto const copy = folder.file("changed.db");
        ASSERT_TRUE(write_file(copy, changed));
        auto const checked = check_store(at(copy), {});
        if (checked && !checked->intact()) {
            ++found;
            continue;
        }
        ASSERT_TRUE(checked) << checked.error().what << " at byte " << where;
        EXPECT_EQ(content_of(copy), before) << "byte " << where << " was changed unseen";
    }
    EXPECT_GT(found, rounds / 10);
}

// ---- trouble

TEST(Trouble, AFullDiskLosesNothingAcknowledged) {
    Folder const folder;
    fill(folder.file());
    // In a child, whose largest file is limited: the log cannot grow any further.
    pid_t const child = fork();
    ASSERT_GE(child, 0);
    if (child == 0) {
        std::signal(SIGXFSZ, SIG_IGN);
        rlimit const limit{200000, 200000};
        setrlimit(RLIMIT_FSIZE, &limit);
        auto const store = open_store(at(folder.file()));
        if (!store) _exit(2);
        std::mt19937_64 random(1);
        int acknowledged = 0;
        bool refused = false;
        for (int n = 1; n < 400 && !refused; ++n) {
            std::string noise(3000, ' ');
            for (char& c : noise) c = static_cast<char>(random());
            auto const added = (*store)->append(note("V-0", n, noise));
            if (added)
                ++acknowledged;
            else
                refused = added.error().code == Errc::io;
        }
        auto const head = (*store)->head();
        _exit(refused && acknowledged > 0 && head && head->entries == 21 + acknowledged ? 0 : 1);
    }
    int status = 0;
    ASSERT_EQ(waitpid(child, &status, 0), child);
    EXPECT_TRUE(WIFEXITED(status) && WEXITSTATUS(status) == 0) << status;
    auto const checked = check_store(at(folder.file()), {}).value();
    EXPECT_TRUE(checked.intact()) << checked.first_bad->what;
    EXPECT_GT(checked.head.entries, 21);
    auto const store = open_store(at(folder.file())).value();
    EXPECT_TRUE(store->append(note("V-0", 999)));
}

// A writer killed at a random instant: whatever it had acknowledged is there, and the record is
// whole. Bounded in time; GW_CRASH_ROUNDS sets another number of deaths.
TEST(Trouble, SuddenDeathLosesNothingAcknowledged) {
    Folder const folder;
    { ASSERT_TRUE(open_store(at(folder.file()))); }
    char const* const asked = std::getenv("GW_CRASH_ROUNDS");
    int const rounds = asked != nullptr ? std::atoi(asked) : 250;
    auto const began = std::chrono::steady_clock::now();
    std::mt19937_64 random(7);
    std::int64_t acknowledged = 1;
    int deaths = 0, in_work = 0;
    for (int round = 0; round < rounds; ++round) {
        if (asked == nullptr && std::chrono::steady_clock::now() - began > std::chrono::seconds(15))
            break;
        int pipe_ends[2];
        ASSERT_EQ(pipe(pipe_ends), 0);
        pid_t const child = fork();
        ASSERT_GE(child, 0);
        if (child == 0) {
            close(pipe_ends[0]);
            auto const store = open_store(at(folder.file()));
            if (!store) _exit(3);
            for (int n = 1;; ++n) {
                auto const added = (*store)->append(note(
                    fmt::format("V-{}", round % 7), n, fmt::format("{:0900}", 1000 * round + n)));
                if (!added) _exit(4);
                auto const last = added->back().sequence;
                if (write(pipe_ends[1], &last, sizeof last) != sizeof last) _exit(5);
            }
        }
        close(pipe_ends[1]);
        std::this_thread::sleep_for(std::chrono::microseconds(random() % 40000));
        kill(child, SIGKILL);
        std::int64_t last = 0, count = 0;
        while (read(pipe_ends[0], &last, sizeof last) == sizeof last) {
            acknowledged = last;
            ++count;
        }
        close(pipe_ends[0]);
        int status = 0;
        ASSERT_EQ(waitpid(child, &status, 0), child);
        ASSERT_TRUE(WIFSIGNALED(status))
            << "the writer ended by itself with " << WEXITSTATUS(status);
        ++deaths;
        in_work += count > 0 ? 1 : 0;
        auto const store = open_store(at(folder.file()));
        ASSERT_TRUE(store) << store.error().what;
        auto const head = (*store)->head().value();
        ASSERT_GE(head.entries, acknowledged);
        if (round % 25 == 24) {
            auto const checked = (*store)->check({}).value();
            ASSERT_TRUE(checked.intact()) << checked.first_bad->what;
        }
        acknowledged = head.entries;
    }
    EXPECT_GT(deaths, 20);
    EXPECT_GT(in_work, deaths / 10) << "most deaths must fall into the work";
    auto const checked = check_store(at(folder.file()), {}).value();
    EXPECT_TRUE(checked.intact()) << checked.first_bad->what;
    RecordProperty("deaths", deaths);
}

// The power goes in the middle of a write: the log ends anywhere, its last page is half written or
// full of rubbish. What was whole before comes back, a prefix of the record, and a head noted
// elsewhere tells of the rest.
TEST(Trouble, ATornLogGivesAWholePrefix) {
    Folder const folder;
    fill(folder.file());
    auto const store = open_store(at(folder.file())).value();
    for (int n = 10; n < 60; ++n)
        ASSERT_TRUE(store->append(note("V-0", n, fmt::format("{:0700}", n))));
    auto const whole = store->head().value();
    auto const main = read_file(folder.file()).value(),
               log = read_file(folder.file("store.db-wal")).value();
    ASSERT_GT(log.size(), 10000U);
    std::mt19937_64 random(11);
    bool cut_seen = false;
    for (int round = 0; round < 60; ++round) {
        auto torn = log.substr(0, random() % log.size());
        for (std::size_t i = torn.size() - std::min<std::size_t>(torn.size(), random() % 3000);
             i < torn.size();
             ++i)
            torn[i] = static_cast<char>(random());
        auto const copy = folder.file(fmt::format("torn{}.db", round));
        ASSERT_TRUE(write_file(copy, main));
        ASSERT_TRUE(write_file(copy + "-wal", torn));
        auto const checked = check_store(at(copy), {});
        ASSERT_TRUE(checked) << checked.error().what;
        ASSERT_TRUE(checked->intact()) << checked->first_bad->what;
        EXPECT_TRUE(store->check(checked->head)->intact()) << "it must be a prefix of the whole";
        if (checked->head.entries < whole.entries) {
            cut_seen = true;
            EXPECT_FALSE(check_store(at(copy), whole)->intact());
        }
    }
    EXPECT_TRUE(cut_seen);
}

}  // namespace
}  // namespace gw::store
