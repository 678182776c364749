#include "visit/entry.hpp"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "base/hash.hpp"

namespace gw::visit {
namespace {

NewEntry sample() {
    return {Instant{1764000000123, 60},
            "PX-1",
            "note",
            "A. Person",
            Json{{"b", 1.5}, {"a", "x\ny"}},
            {}};
}

TEST(Entry, IsSealedOverPlainLines) {
    auto const entry = seal(sample(), {}).value();
    EXPECT_EQ(
        sealed_text(entry),
        "gaswright.entry/1\nsequence: 1\nrecorded: 2025-11-24T17:00:00.123+01:00\nsubject: PX-1\n"
        "kind: note\nwho: A. Person\nevidence: \nbody: {\"a\":\"x\\ny\",\"b\":1.5}\nprevious: " +
            std::string(no_previous) + "\n");
    EXPECT_EQ(entry.hash, sha256(sealed_text(entry)));
}

TEST(Entry, ReadsItsPlainLinesBack) {
    auto first = sample();
    first.evidence = {sha256("one"), sha256("two")};
    auto const entry = seal(first, Head{6, sha256("before")}).value();
    auto const back = read_sealed_text(sealed_text(entry), "entry");
    ASSERT_TRUE(back) << back.error().what;
    EXPECT_EQ(back->hash, entry.hash);
    EXPECT_EQ(back->sequence, 7);
}

TEST(Entry, HasOneFormOnly) {
    auto text = sealed_text(seal(sample(), {}).value());
    auto const changed = [&](std::string const& from, std::string const& to) {
        auto copy = text;
        copy.replace(copy.find(from), from.size(), to);
        return read_sealed_text(copy, "entry");
    };
    EXPECT_FALSE(changed("sequence: 1", "sequence: 01"));
    EXPECT_FALSE(changed("{\"a\"", "{ \"a\""));
    EXPECT_FALSE(changed("kind: note", "kind:  note"));
    EXPECT_FALSE(changed("evidence: ", "evidence: abc"));
    EXPECT_FALSE(changed("17:00:00.123", "17:00:00.1230"));
    EXPECT_FALSE(read_sealed_text(text + "x", "entry"));
    EXPECT_FALSE(read_sealed_text("", "entry"));
}

TEST(Entry, RefusesWhatWouldForgeALine) {
    auto forged = sample();
    forged.who = "A\nprevious: x";
    EXPECT_FALSE(seal(forged, {}));
    forged = sample();
    forged.subject = "";
    EXPECT_FALSE(seal(forged, {}));
    forged = sample();
    forged.body = Json::array();
    EXPECT_FALSE(seal(forged, {}));
    forged = sample();
    forged.body["text"] = "\xff\xfe";
    EXPECT_FALSE(seal(forged, {}));
    forged = sample();
    forged.evidence = {"not a hash"};
    EXPECT_FALSE(seal(forged, {}));
}

TEST(Entry, SaysWhatIsWrongWithIt) {
    auto const first = seal(sample(), {}).value();
    auto const second = seal(sample(), Head{1, first.hash}).value();
    EXPECT_EQ(fault_of(second, Head{1, first.hash}), "");
    EXPECT_NE(fault_of(second, Head{}), "");
    auto changed = second;
    changed.who = "B. Person";
    EXPECT_NE(fault_of(changed, Head{1, first.hash}), "");
    EXPECT_NE(fault_of(second, Head{1, sha256("other")}), "");
}

}  // namespace
}  // namespace gw::visit
