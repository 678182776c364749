#include "visit/signature.hpp"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

namespace gw::visit {
namespace {

std::string const hash(64, 'a');

Signed example() {
    Signed out;
    out.statement = Statement::work;
    out.visit = "PX-1-20260302-4f1a";
    out.analyser = "PX-1";
    out.plan_sha256 = hash;
    out.signer = "A. Person";
    out.key = hash;
    out.at = "2026-03-02T10:00:00Z";
    out.clock = "of the signing device alone; no trusted time was at hand";
    out.head = {41, hash};
    out.last_entry = 40;
    out.findings_sha256 = hash;
    out.listed = {"prepare: people told: overridden (line was busy, A. Person)"};
    out.reservations = {"stream 2 was shut in"};
    return out;
}

TEST(Signature, IsReadBackAsItWasWritten) {
    auto const text = signed_text(example());
    auto const read = read_signed_text(text, "here");
    ASSERT_TRUE(read) << read.error().what;
    EXPECT_EQ(signed_text(*read), text);
    EXPECT_EQ(read->listed, example().listed);
    EXPECT_EQ(read->reservations, example().reservations);
    EXPECT_EQ(read->head, example().head);
}

// No reservation can pose as another line of the statement.
TEST(Signature, KeepsEveryValueInItsLine) {
    auto said = example();
    said.reservations = {"x\nstatement: conformity\nsigner: Somebody Else"};
    auto const read = read_signed_text(signed_text(said), "here");
    ASSERT_TRUE(read);
    EXPECT_EQ(read->statement, Statement::work);
    EXPECT_EQ(read->signer, "A. Person");
    EXPECT_EQ(read->reservations.size(), 1U);
}

TEST(Signature, RefusesEveryTextWithAByteLessOrAnother) {
    auto const text = signed_text(example());
    for (std::size_t i = 0; i < text.size(); ++i) {
        EXPECT_FALSE(read_signed_text(text.substr(0, i), "here")) << i;
    }
    EXPECT_FALSE(read_signed_text(text + "more: 1\n", "here"));
    EXPECT_FALSE(read_signed_text("", "here"));
    auto other = text;
    other.replace(other.find("words: The"), 10, "words: She");
    EXPECT_FALSE(read_signed_text(other, "here")) << "the words of a statement are fixed";
}

Ledger ledger_with(bool work, bool conformity) {
    Ledger out;
    out.lines.push_back({"restore: tight", "open", work, conformity});
    out.may_sign_work = !work;
    out.may_sign_conformity = !conformity;
    return out;
}

Signature by(std::string signer, std::string key, Statement statement) {
    Signature out;
    out.said = example();
    out.said.signer = std::move(signer);
    out.said.key = std::move(key);
    out.said.statement = statement;
    out.valid = true;
    return out;
}

TEST(Signature, IsRefusedBeforeTheLedgerAllowsIt) {
    auto const refused = may_be_signed(Statement::work, "A", "k", ledger_with(true, true), {});
    ASSERT_FALSE(refused);
    EXPECT_NE(refused.error().what.find("restore: tight (open)"), std::string::npos);
    EXPECT_TRUE(may_be_signed(Statement::work, "A", "k", ledger_with(false, true), {}));
    EXPECT_FALSE(may_be_signed(Statement::conformity, "A", "k", ledger_with(false, true), {}));
    EXPECT_TRUE(may_be_signed(Statement::witness, "A", "k", ledger_with(true, true), {}));
}

TEST(Signature, AsksForAnotherPersonAsWitness) {
    auto const ledger = ledger_with(false, false);
    std::vector<Signature> const before = {by("A. Person", "key a", Statement::work)};
    EXPECT_FALSE(may_be_signed(Statement::witness, "a. person ", "key b", ledger, before));
    EXPECT_FALSE(may_be_signed(Statement::review, "B. Person", "key a", ledger, before));
    EXPECT_TRUE(may_be_signed(Statement::review, "B. Person", "key b", ledger, before));
    EXPECT_TRUE(may_be_signed(Statement::conformity, "A. Person", "key a", ledger, before));
    EXPECT_FALSE(may_be_signed(Statement::work, "A. Person", "key a", ledger, before));
    auto withdrawn = before;
    withdrawn.front().withdrawn = true;
    EXPECT_TRUE(may_be_signed(Statement::witness, "A. Person", "key a", ledger, withdrawn));
    auto earlier = before;
    earlier.front().later = {"entry 50"};
    EXPECT_TRUE(may_be_signed(Statement::work, "A. Person", "key a", ledger, earlier));
}

TEST(Signature, HasWordsForEveryStatement) {
    for (auto const* asked : {"work", "conformity", "witness", "review"}) {
        auto const statement = find_statement(asked);
        ASSERT_TRUE(statement);
        EXPECT_EQ(name(*statement), asked);
        EXPECT_FALSE(words(*statement).empty());
        EXPECT_FALSE(title(*statement).empty());
    }
    EXPECT_FALSE(find_statement("everything"));
}

}  // namespace
}  // namespace gw::visit
