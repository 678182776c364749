#include "desk/sign.hpp"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "base/base.hpp"
#include "desk/demo_record.hpp"
#include "store/memory_store.hpp"

namespace gw::desk {
namespace {

Instant const now{1779212400000, 0};  // the evening of the invented day

SigningKey key_of(std::string const& name) {
    auto const text = new_key(name, Secret(), now, Cost::least).value();
    return open_key(read_key(text, "key").value(), Secret(), "key").value();
}

// The invented visit, recorded once; each test signs a copy of its own, entry for entry.
struct RecordedVisit {
    store::MemoryStore store;
    std::string id;
    RecordedVisit() {
        static store::MemoryStore original;
        static std::string const recorded = record_demo(original).value();
        id = recorded;
        store::Append all;
        auto const entries = original.from(1, 10000).value();
        for (auto const& entry : entries) {
            auto const body = visit::body_of(entry).value();
            all.entries.push_back({parse_instant(entry.recorded, "recorded").value(),
                                   entry.subject,
                                   entry.kind,
                                   entry.who,
                                   body.root().raw(),
                                   entry.evidence});
            for (auto const& sha : entry.evidence)
                all.evidence.push_back(original.evidence(sha).value());
        }
        EXPECT_TRUE(store.append(all));
        EXPECT_EQ(store.head().value(), original.head().value());
    }
};

TEST(Sign, TwoPeopleSignTheDemonstration) {
    RecordedVisit made;
    auto const a = key_of("A. Person"), b = key_of("B. Person");
    auto const work = sign_visit(made.store, made.id, {visit::Statement::work, {}}, a, now);
    ASSERT_TRUE(work) << work.error().what;
    EXPECT_TRUE(work->signature.valid) << work->signature.problem;
    EXPECT_FALSE(work->signature.said.listed.empty()) << "what failed as found is listed";
    ASSERT_TRUE(sign_visit(made.store, made.id, {visit::Statement::conformity, {}}, a, now));
    ASSERT_TRUE(
        sign_visit(made.store, made.id, {visit::Statement::witness, {"came at 08:00"}}, b, now));
    auto const shown = show_visit(made.store, made.id, now).value();
    ASSERT_EQ(shown.signatures.size(), 3U);
    for (auto const& signature : shown.signatures) {
        EXPECT_TRUE(signature.valid) << signature.problem;
        EXPECT_FALSE(signature.of_earlier_state());
        // The findings as they were signed are kept, byte for byte.
        auto const findings = made.store.evidence(signature.findings_sha256);
        ASSERT_TRUE(findings);
        EXPECT_EQ(*findings, visit::findings_text(made.id, shown.findings, shown.ledger).value());
    }
    EXPECT_EQ(shown.signatures[2].said.reservations.front(), "came at 08:00");
    EXPECT_TRUE(made.store.check({})->intact());
    EXPECT_FALSE(sign_visit(made.store, made.id, {visit::Statement::work, {}}, a, now))
        << "twice, with nothing recorded in between";
    EXPECT_FALSE(sign_visit(made.store, made.id, {visit::Statement::review, {}}, a, now));
}

TEST(Sign, ALaterEntryMakesItOfAnEarlierState) {
    RecordedVisit made;
    auto const a = key_of("A. Person");
    ASSERT_TRUE(sign_visit(made.store, made.id, {visit::Statement::work, {}}, a, now));
    VisitAdd note;
    note.request.stage = "hand back";
    note.request.step = "seals noted";
    note.request.note = "the metering office came on 20 May";
    ASSERT_TRUE(add_to_visit(made.store, made.id, note, {"B. Person", now, {}}));
    auto const shown = show_visit(made.store, made.id, now).value();
    ASSERT_EQ(shown.signatures.size(), 1U);
    EXPECT_TRUE(shown.signatures.front().valid);
    ASSERT_EQ(shown.signatures.front().later.size(), 1U);
    EXPECT_NE(shown.signatures.front().later.front().find("note, B. Person"), std::string::npos);
    ASSERT_TRUE(sign_visit(made.store, made.id, {visit::Statement::work, {}}, a, now))
        << "the new state may be signed anew";
}

TEST(Sign, RefusesConformityOfAVisitThatHasNotShownIt) {
    store::MemoryStore store;
    auto const id =
        start_visit(store, {"exchange", "PX", "", "", "", ""}, {"A. Person", now, {}}).value();
    auto const a = key_of("A. Person");
    auto const before = store.head()->entries;
    auto const work = sign_visit(store, id, {visit::Statement::work, {}}, a, now);
    ASSERT_FALSE(work);
    EXPECT_NE(work.error().what.find("arrive: this device"), std::string::npos)
        << work.error().what;
    EXPECT_FALSE(sign_visit(store, id, {visit::Statement::conformity, {}}, a, now));
    EXPECT_EQ(store.head()->entries, before) << "nothing was written";
    EXPECT_TRUE(sign_visit(store, id, {visit::Statement::review, {"too early"}}, a, now));
}

// A signature that somebody wrote into the journal by other means is told apart.
TEST(Sign, ForgedSignaturesAreNamed) {
    RecordedVisit made;
    auto const a = key_of("A. Person");
    auto const done = sign_visit(made.store, made.id, {visit::Statement::work, {}}, a, now).value();
    auto const forged = [&](auto const& change) {
        auto said = done.signature.said;
        auto key = done.signature.public_key, bytes = done.signature.signature;
        change(said, key, bytes);
        auto entry = visit::signature_entry(said, key, bytes, now);
        store::Append append;
        append.entries.push_back(entry);
        EXPECT_TRUE(made.store.append(append));
        auto const shown = show_visit(made.store, made.id, now).value();
        EXPECT_FALSE(shown.signatures.back().valid);
        EXPECT_FALSE(shown.signatures.back().problem.empty());
    };
    using Text = std::string;
    forged([](visit::Signed& said, Text&, Text&) { said.signer = "C. Person"; });
    forged([](visit::Signed& said, Text&, Text&) { said.listed.pop_back(); });
    forged([](visit::Signed&, Text&, Text& bytes) { bytes[0] = bytes[0] == '0' ? '1' : '0'; });
    forged([](visit::Signed&, Text& key, Text&) { key[0] = key[0] == '0' ? '1' : '0'; });
    forged([&](visit::Signed& said, Text&, Text& bytes) {  // rightly signed, of another journal
        said.head.hash = std::string(64, 'b');
        bytes = hex_of(a.sign(visit::signed_text(said)));
    });
    forged([](visit::Signed&, Text&, Text& bytes) { bytes = "nonsense"; });
}

TEST(Sign, MayBeWithdrawnAndStaysVisible) {
    RecordedVisit made;
    auto const a = key_of("A. Person");
    auto const done = sign_visit(made.store, made.id, {visit::Statement::work, {}}, a, now).value();
    auto const last = undo_in_visit(made.store, made.id, {}, "by the way", {"A. Person", now, {}});
    ASSERT_TRUE(last);
    EXPECT_FALSE(show_visit(made.store, made.id, now)->signatures.front().withdrawn)
        << "only a signature that is named is taken back";
    ASSERT_TRUE(undo_in_visit(made.store,
                              made.id,
                              done.signature.entry,
                              "signed the wrong visit",
                              {"A. Person", now, {}}));
    auto const shown = show_visit(made.store, made.id, now).value();
    ASSERT_EQ(shown.signatures.size(), 1U);
    EXPECT_TRUE(shown.signatures.front().withdrawn);
}

}  // namespace
}  // namespace gw::desk
