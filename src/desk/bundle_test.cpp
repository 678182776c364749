#include "desk/bundle.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "base/base.hpp"
#include "base/zip.hpp"
#include "desk/demo_record.hpp"
#include "store/memory_store.hpp"

namespace gw::desk {
namespace {

Instant const now{1779212400000, 0};

SigningKey key_of(std::string const& name) {
    auto const text = new_key(name, Secret(), now, Cost::least).value();
    return open_key(read_key(text, "key").value(), Secret(), "key").value();
}

// One small visit that a few entries tell of: quick enough to be changed byte by byte.
struct Small {
    store::MemoryStore store;
    std::string id;
    SigningKey a = key_of("A. Person"), b = key_of("B. Person");
    std::string bundle;
    std::vector<TrustedKey> trust;

    Small() {
        visit::Act const act{"A. Person", now, {}};
        id = start_visit(store, {"routine proving", "PX", "North", "", "", ""}, act).value();
        VisitAdd add;
        add.request.stage = "prepare";
        add.request.step = "reason";
        add.request.value = "due";
        EXPECT_TRUE(add_to_visit(store, id, add, act));
        EXPECT_TRUE(sign_visit(store, id, {visit::Statement::witness, {}}, b, now));
        bundle = made();
        trust = {{fingerprint(a.public_key()), "A. Person"},
                 {fingerprint(b.public_key()), "B. Person"}};
    }
    std::string made() const {
        auto const out = export_visit(store, {id, "gaswright test", &a, false});
        EXPECT_TRUE(out) << one_line(out.error());
        return out ? out->bytes : std::string();
    }
    CheckedBundle check(std::string const& bytes) const { return check_bundle(bytes, "b", trust); }
    // The same members, packed anew after a change.
    std::string changed(std::function<void(std::vector<ZipMember>&)> const& change) const {
        auto members = read_zip(bundle, "b").value().members;
        change(members);
        return zip_archive(members).value();
    }
};

Small& small() {
    static Small made;
    return made;
}

TEST(Bundle, IsIntactAndTrusted) {
    auto const checked = small().check(small().bundle);
    EXPECT_TRUE(checked.intact()) << checked.first_bad->file << checked.first_bad->what;
    EXPECT_TRUE(checked.trusted);
    EXPECT_EQ(checked.visit, small().id);
    EXPECT_EQ(checked.signatures.size(), 1U);
    EXPECT_EQ(small().bundle, small().made()) << "the same record, the same bytes";
    EXPECT_FALSE(check_bundle(small().bundle, "b", {}).trusted);
    auto half = small().trust;
    half.pop_back();
    auto const other = check_bundle(small().bundle, "b", half);
    EXPECT_TRUE(other.intact());
    EXPECT_FALSE(other.trusted);
    ASSERT_EQ(other.untrusted.size(), 1U);
    EXPECT_NE(other.untrusted.front().find("B. Person"), std::string::npos);
}

TEST(Bundle, EveryChangedByteIsFoundAndNamed) {
    auto const& bundle = small().bundle;
    // Every byte of the headers and the directory, and a stride through the packed files.
    for (std::size_t i = 0; i < bundle.size(); i += i < 400 || bundle.size() - i < 3000 ? 1 : 211) {
        auto other = bundle;
        other[i] = static_cast<char>(other[i] ^ 4);
        auto const checked = small().check(other);
        ASSERT_FALSE(checked.intact()) << i;
        EXPECT_FALSE(checked.trusted);
        EXPECT_FALSE(checked.first_bad->file.empty());
        EXPECT_FALSE(checked.first_bad->what.empty());
    }
}

TEST(Bundle, NamesTheFileThatWasChangedAddedOrTaken) {
    auto const names = [](std::string const& bytes) {
        auto const checked = small().check(bytes);
        return checked.first_bad ? checked.first_bad->file : std::string();
    };
    auto const read = read_zip(small().bundle, "b").value();
    for (auto const& member : read.members) {
        auto const of = [&](std::vector<ZipMember>& all) {
            return std::find_if(
                all.begin(), all.end(), [&](auto const& m) { return m.name == member.name; });
        };
        auto const bad = names(small().changed([&](auto& all) { of(all)->bytes += "x"; }));
        EXPECT_FALSE(bad.empty()) << member.name;
        if (member.name != "manifest.sha256") {
            EXPECT_EQ(bad, member.name);
        }
        EXPECT_FALSE(names(small().changed([&](auto& all) { all.erase(of(all)); })).empty())
            << member.name;
    }
    EXPECT_EQ(names(small().changed([](auto& all) {
                  all.push_back({"more.txt", "x"});
              })),
              "more.txt");
}

// Somebody who makes the list of checksums fit again is found by its signature; who takes that away
// as well, by the lack of it.
TEST(Bundle, AListMadeAnewIsNotTheSignedOne) {
    auto const relist = [](std::vector<ZipMember>& all, bool unsign) {
        if (unsign)
            std::erase_if(all, [](auto const& m) {
                return m.name == "manifest.sig" || m.name == "manifest.pem";
            });
        std::string list;
        for (auto const& m : all)
            if (m.name != "manifest.sha256" && m.name != "manifest.sig")
                list += sha256(m.bytes) + "  " + m.name + "\n";
        for (auto& m : all)
            if (m.name == "manifest.sha256") m.bytes = list;
    };
    auto const spoil = [](std::vector<ZipMember>& all, std::string const& name) {
        for (auto& m : all)
            if (m.name.starts_with(name)) m.bytes[m.bytes.size() / 2] ^= 1;
    };
    auto checked = small().check(small().changed([&](auto& all) {
        spoil(all, "visit.json");
        relist(all, false);
    }));
    ASSERT_FALSE(checked.intact());
    EXPECT_EQ(checked.first_bad->file, "manifest.sig");
    checked = small().check(small().changed([&](auto& all) {
        spoil(all, "visit.json");
        relist(all, true);
    }));
    EXPECT_TRUE(checked.intact()) << "nothing contradicts it";
    EXPECT_FALSE(checked.trusted) << "and nobody vouches for it";
    for (auto const* name : {"journal/", "chain.txt", "signatures/", "signed/"}) {
        checked = small().check(small().changed([&](auto& all) {
            spoil(all, name);
            relist(all, true);
        }));
        EXPECT_FALSE(checked.intact()) << name << " is held by the chain and the signatures";
    }
}

TEST(Bundle, ComesIntoAnotherStoreOnceAndWhole) {
    auto const bundle = small().check(small().bundle);
    store::MemoryStore other;
    visit::Act const act{"C. Person", now, {}};
    auto const first = import_bundle(other, bundle, act);
    ASSERT_TRUE(first) << one_line(first.error());
    EXPECT_EQ(first->added, bundle.entries.size());
    auto const again = import_bundle(other, bundle, act).value();
    EXPECT_EQ(again.added, 0U);
    EXPECT_EQ(again.known, bundle.entries.size());
    EXPECT_TRUE(other.check({})->intact());
    auto const shown = show_visit(other, small().id, now).value();
    ASSERT_EQ(shown.signatures.size(), 1U);
    EXPECT_TRUE(shown.signatures.front().valid) << shown.signatures.front().problem;
    EXPECT_FALSE(shown.signatures.front().of_earlier_state());
    EXPECT_EQ(import_bundle(small().store, bundle, act)->added, 0U) << "it is at home there";
    EXPECT_FALSE(against_bundle(other, bundle).value());
    // From there it can be handed on, and is checked as well as before.
    auto const on = export_visit(other, {small().id, "gaswright test", &small().a, false});
    ASSERT_TRUE(on);
    auto const third = small().check(on->bytes);
    EXPECT_TRUE(third.intact()) << third.first_bad->file << ": " << third.first_bad->what;
    EXPECT_TRUE(third.trusted);
    store::MemoryStore last;
    EXPECT_TRUE(import_bundle(last, third, act));
    EXPECT_TRUE(show_visit(last, small().id, now)->signatures.front().valid);
}

TEST(Bundle, ABadOneChangesNothing) {
    auto other = small().bundle;
    other[other.size() / 2] ^= 1;
    store::MemoryStore store;
    EXPECT_FALSE(import_bundle(store, small().check(other), {"C. Person", now, {}}));
    EXPECT_EQ(store.head()->entries, 0);
    EXPECT_FALSE(against_bundle(small().store, small().check(other)));
}

TEST(Bundle, AThingThatIsKnownHereStaysAsItIs) {
    store::MemoryStore store;
    visit::Act const act{"C. Person", now, {}};
    store::Append append;
    append.entries.push_back({now,
                              "analyser:PX",
                              "thing",
                              "C. Person",
                              Json{{"set", Json{{"site", "as we call it"}}}},
                              {}});
    ASSERT_TRUE(store.append(append));
    auto const done = import_bundle(store, small().check(small().bundle), act).value();
    ASSERT_EQ(done.kept_own.size(), 1U);
    EXPECT_EQ(done.kept_own.front(), "analyser:PX");
    EXPECT_NE(store.thing("analyser:PX").value()->body.find("as we call it"), std::string::npos);
}

// Undone entries stay undone where the numbers are others.
TEST(Bundle, AnUndoFindsItsEntryElsewhere) {
    store::MemoryStore home, away;
    visit::Act const act{"A. Person", now, {}};
    auto const id = start_visit(home, {"routine proving", "PY", "", "", "", ""}, act).value();
    VisitAdd add;
    add.request.stage = "prepare";
    add.request.step = "reason";
    add.request.value = "first words";
    auto const wrong = add_to_visit(home, id, add, act).value();
    ASSERT_TRUE(undo_in_visit(home, id, wrong.entry.sequence, "wrong", act));
    for (int i = 0; i < 5; ++i)
        ASSERT_TRUE(start_visit(away, {"routine proving", "other", "", "", "", ""}, act));
    auto const made = export_visit(home, {id, "gaswright test", nullptr, false}).value();
    ASSERT_TRUE(import_bundle(away, check_bundle(made.bytes, "b", {}), act));
    auto const state = load_visit(away, id)->state;
    EXPECT_EQ(state.undone.size(), 1U);
    EXPECT_EQ(state.find("reason")->state, visit::StepState::open);
    EXPECT_EQ(away.visit(id).value()->state, "open");
}

TEST(Bundle, FindsARecordThatWasCutOffOrWrittenAnew) {
    auto const bundle = small().check(small().bundle);
    EXPECT_FALSE(against_bundle(small().store, bundle).value());
    // Written anew: the same first entries, another ending.
    store::MemoryStore forged, cut;
    auto const all = small().store.from(1, 1000).value();
    for (auto* store : {&forged, &cut})
        for (std::size_t i = 0; i + 1 < all.size(); ++i) {
            store::Append append;
            auto const body = visit::body_of(all[i]).value();
            append.entries.push_back({parse_instant(all[i].recorded, "t").value(),
                                      all[i].subject,
                                      all[i].kind,
                                      all[i].who,
                                      body.root().raw(),
                                      all[i].evidence});
            for (auto const& sha : all[i].evidence)
                append.evidence.push_back(small().store.evidence(sha).value());
            ASSERT_TRUE(store->append(append));
        }
    auto const missing = against_bundle(cut, bundle).value();
    ASSERT_TRUE(missing);
    EXPECT_EQ(missing->entry, all.back().sequence);
    EXPECT_NE(missing->what.find("cut off"), std::string::npos);
    VisitAdd note;
    note.request.stage = "prepare";
    note.request.step = "reason";
    note.request.note = "another story";
    ASSERT_TRUE(add_to_visit(forged, small().id, note, {"A. Person", now, {}}));
    auto const anew = against_bundle(forged, bundle).value();
    ASSERT_TRUE(anew);
    EXPECT_EQ(anew->entry, all.back().sequence);
    EXPECT_TRUE(forged.check({})->intact()) << "sound in itself, and yet another";
    store::MemoryStore none;
    EXPECT_TRUE(against_bundle(none, bundle).value());
}

}  // namespace
}  // namespace gw::desk
