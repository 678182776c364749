// What every keeper of the record promises, asked of each back end alike.
#include "store/store.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>
#include <nlohmann/json.hpp>

#include "base/hash.hpp"
#include "store/memory_store.hpp"
#include "store/sqlite_store.hpp"

namespace gw::store {
namespace {

enum class BackEnd { memory, sqlite };

class AnyStore : public testing::TestWithParam<BackEnd> {
  protected:
    void SetUp() override {
        if (GetParam() == BackEnd::memory) {
            store_ = std::make_unique<MemoryStore>();
            return;
        }
        auto const* const info = testing::UnitTest::GetInstance()->current_test_info();
        std::string name = info->name();
        for (char& c : name)
            if (c == '/') c = '_';
        folder_ =
            std::filesystem::temp_directory_path() / fmt::format("gw_store_{}_{}", name, getpid());
        std::filesystem::create_directories(folder_);
        StoreOptions options;
        options.file = folder_ / "store.db";
        options.create = true;
        auto opened = open_store(options);
        ASSERT_TRUE(opened) << opened.error().what;
        store_ = *std::move(opened);
    }
    void TearDown() override {
        store_.reset();
        if (!folder_.empty()) std::filesystem::remove_all(folder_);
    }
    Append one(std::string subject,
               std::string kind,
               Json body,
               std::vector<std::string> files = {}) {
        Append out;
        NewEntry entry{Instant{++clock_ * 1000, 0},
                       std::move(subject),
                       std::move(kind),
                       "A. Person",
                       std::move(body),
                       {}};
        for (auto const& bytes : files) entry.evidence.push_back(sha256(bytes));
        out.entries.push_back(std::move(entry));
        out.evidence = std::move(files);
        return out;
    }
    std::unique_ptr<Store> store_;
    std::filesystem::path folder_;
    std::int64_t clock_ = 0;
};

TEST_P(AnyStore, ChainsEntriesAndReadsThemBySubjectAndBySequence) {
    auto const before = store_->head().value();
    auto const a =
        store_->append(one("V-1", "visit", {{"analyser", "PX-1"}, {"plan", "exchange"}}));
    ASSERT_TRUE(a) << a.error().what;
    auto const b =
        store_->append(one("V-2", "visit", {{"analyser", "PX-2"}, {"plan", "exchange"}}));
    ASSERT_TRUE(b);
    EXPECT_EQ(b->front().previous, a->front().hash);
    EXPECT_EQ(store_->head()->entries, before.entries + 2);
    EXPECT_EQ(store_->of_subject("V-1")->size(), 1U);
    EXPECT_EQ(store_->of_subject("V-9")->size(), 0U);
    auto const some = store_->from(before.entries + 2, 10).value();
    ASSERT_EQ(some.size(), 1U);
    EXPECT_EQ(some[0].subject, "V-2");
}

TEST_P(AnyStore, KeepsSeveralEntriesTogetherOrNone) {
    auto const before = store_->head().value();
    auto both = one("V-1", "visit", {{"analyser", "PX-1"}});
    both.entries.push_back({Instant{1, 0}, "", "note", "A", Json::object(), {}});
    EXPECT_FALSE(store_->append(both));
    EXPECT_EQ(store_->head().value(), before);
    EXPECT_TRUE(store_->visits({})->empty());
    EXPECT_TRUE(store_->check({})->intact());
}

TEST_P(AnyStore, KeepsEvidenceByItsHashOnce) {
    std::string const bytes = std::string(100000, 'x') + std::string("\0\xff", 2);
    ASSERT_TRUE(store_->append(one("V-1", "evidence", Json::object(), {bytes})));
    ASSERT_TRUE(store_->append(one("V-1", "evidence", Json::object(), {bytes, ""})));
    EXPECT_EQ(store_->evidence(sha256(bytes)).value(), bytes);
    EXPECT_EQ(store_->evidence(sha256("")).value(), "");
    EXPECT_FALSE(store_->evidence(sha256("other")));
    auto const checked = store_->check({}).value();
    EXPECT_TRUE(checked.intact()) << checked.first_bad->what;
    EXPECT_EQ(checked.evidence, 2);
}

TEST_P(AnyStore, RefusesEvidenceThatIsNotThereOrThatNobodyNames) {
    auto missing = one("V-1", "evidence", Json::object());
    missing.entries[0].evidence = {sha256("never given")};
    EXPECT_FALSE(store_->append(missing));
    auto unnamed = one("V-1", "evidence", Json::object());
    unnamed.evidence = {"bytes"};
    EXPECT_FALSE(store_->append(unnamed));
    EXPECT_FALSE(store_->evidence(sha256("bytes")));
    EXPECT_TRUE(store_->check({})->intact());
}

TEST_P(AnyStore, RefusesADecisionMadeOnAnOlderSight) {
    auto const first = store_->append(one("V-1", "visit", {{"analyser", "PX-1"}})).value();
    auto next = one("V-1", "note", Json::object());
    next.seen = {"V-1", first.back().sequence};
    ASSERT_TRUE(store_->append(next));
    auto const refused = store_->append(next);
    ASSERT_FALSE(refused);
    EXPECT_EQ(refused.error().code, Errc::conflict);
    EXPECT_EQ(store_->of_subject("V-1")->size(), 2U);
}

TEST_P(AnyStore, ListsVisitsNewestFirstWithTheirState) {
    ASSERT_TRUE(store_->append(one("V-1", "visit", {{"analyser", "PX-1"}, {"plan", "exchange"}})));
    ASSERT_TRUE(
        store_->append(one("V-2", "visit", {{"analyser", "PX-2"}, {"plan", "fault_call"}})));
    ASSERT_TRUE(store_->append(
        one("V-1", "end", {{"as", "on-fallback"}, {"until", "2026-03-02"}, {"owner", "B"}})));
    auto const all = store_->visits({}).value();
    ASSERT_EQ(all.size(), 2U);
    EXPECT_EQ(all[0].visit, "V-1");
    EXPECT_EQ(all[0].state, "on-fallback");
    EXPECT_EQ(all[0].owner, "B");
    EXPECT_EQ(store_->visits({"", true, 0})->size(), 1U);
    EXPECT_EQ(store_->visits({"PX-2", false, 0})->front().visit, "V-2");
    EXPECT_EQ(store_->visits({"", false, 1})->size(), 1U);
    EXPECT_FALSE(store_->visit("V-3").value());
}

TEST_P(AnyStore, AnUndoneEndOpensTheVisitAgain) {
    ASSERT_TRUE(store_->append(one("V-1", "visit", {{"analyser", "PX-1"}})));
    auto const end = store_->append(one("V-1", "end", {{"as", "completed"}})).value();
    auto const undo = store_->append(one("V-1", "undo", {{"entry", end[0].sequence}})).value();
    EXPECT_EQ(store_->visit("V-1").value()->state, "open");
    EXPECT_TRUE(store_->check({})->intact());
    ASSERT_TRUE(store_->append(one("V-1", "undo", {{"entry", undo[0].sequence}})));
    EXPECT_EQ(store_->visit("V-1").value()->state, "completed");
    EXPECT_TRUE(store_->check({})->intact());
}

TEST_P(AnyStore, FoldsThings) {
    ASSERT_TRUE(store_->append(
        one("cylinder:K1", "thing", {{"set", {{"expires", "2027-01-02"}, {"role", "proving"}}}})));
    ASSERT_TRUE(
        store_->append(one("cylinder:K1",
                           "thing",
                           {{"set", {{"role", nullptr}}}, {"reading", {{"pressure_kpa", 4000}}}})));
    auto const line = store_->thing("cylinder:K1").value();
    ASSERT_TRUE(line);
    EXPECT_EQ(line->due, "2027-01-02");
    EXPECT_EQ(line->body, R"({"expires":"2027-01-02","readings":[{"pressure_kpa":4000}]})");
    EXPECT_EQ(store_->things("cylinder")->size(), 1U);
    EXPECT_EQ(store_->things("analyser")->size(), 0U);
    EXPECT_TRUE(store_->check({})->intact());
}

TEST_P(AnyStore, HoldsTheRecordAgainstAHeadNotedElsewhere) {
    ASSERT_TRUE(store_->append(one("V-1", "visit", Json::object())));
    auto const head = store_->head().value();
    ASSERT_TRUE(store_->append(one("V-1", "note", Json::object())));
    EXPECT_TRUE(store_->check(head)->intact());
    EXPECT_FALSE(store_->check(Head{head.entries, sha256("other")})->intact());
    auto const cut = store_->check(Head{head.entries + 5, sha256("later")}).value();
    ASSERT_FALSE(cut.intact());
    EXPECT_EQ(cut.first_bad->entry, head.entries + 2);
}

INSTANTIATE_TEST_SUITE_P(Every,
                         AnyStore,
                         testing::Values(BackEnd::memory, BackEnd::sqlite),
                         [](auto const& back_end) {
                             return back_end.param == BackEnd::memory ? "memory" : "sqlite";
                         });

}  // namespace
}  // namespace gw::store
