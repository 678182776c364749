#include <fmt/format.h>

#include <nlohmann/json.hpp>
#include <set>

#include "base/base.hpp"
#include "desk/bundle.hpp"

namespace gw::desk {

namespace {

constexpr int most_tries = 20;  // of an append that others were quicker at

// Hashes that a store holds of a subject: those of its own entries and those that were brought
// over.
Result<std::set<std::string>> known_hashes(store::Store const& store, std::string const& subject) {
    std::set<std::string> out;
    GW_TRY(auto const entries, store.of_subject(subject));
    for (auto const& entry : entries) {
        out.insert(entry.hash);
        if (auto const origin = visit::origin_of(entry)) out.insert(origin->hash);
    }
    return out;
}

std::string hash_at_first(visit::Entry const& entry) {
    auto const origin = visit::origin_of(entry);
    return origin ? origin->hash : entry.hash;
}

Result<> require_intact(CheckedBundle const& bundle) {
    if (bundle.intact()) return {};
    return fail(
        Errc::bad_input,
        fmt::format(
            "The bundle is not intact: {}: {}.", bundle.first_bad->file, bundle.first_bad->what),
        "BUNDLE",
        "ask for it anew; nothing was taken from it");
}

// A thing that this store has entries of its own about: an older history brought over would undo
// what is known here.
Result<bool> known_by_itself(store::Store const& store,
                             std::string const& subject,
                             std::set<std::string> const& brought) {
    GW_TRY(auto const entries, store.of_subject(subject));
    for (auto const& entry : entries)
        if (!visit::origin_of(entry) && !brought.contains(entry.hash)) return true;
    return false;
}

}  // namespace

Result<Imported> import_bundle(store::Store& store,
                               CheckedBundle const& bundle,
                               visit::Act const& act) {
    GW_CHECK(require_intact(bundle));
    for (int attempt = 0;; ++attempt) {
        Imported out;
        out.visit = bundle.visit;
        store::Append append;
        std::set<std::string> files, hashes, kept_own;
        for (auto const& entry : bundle.entries) hashes.insert(hash_at_first(entry));
        std::map<std::string, std::set<std::string>> known;
        std::map<std::string, bool> own;  // things
        bool news = false;
        for (auto const& entry : bundle.entries) {
            auto const& subject = entry.subject;
            if (!known.contains(subject)) {
                GW_TRY(known[subject], known_hashes(store, subject));
                if (visit::about(entry) == visit::About::thing) {
                    GW_TRY(own[subject], known_by_itself(store, subject, hashes));
                }
            }
            if (known[subject].contains(hash_at_first(entry))) {
                ++out.known;
                continue;
            }
            if (own[subject]) {
                kept_own.insert(subject);
                continue;
            }
            GW_TRY(auto brought, visit::brought_over(entry));
            for (auto const& sha : brought.evidence)
                if (files.insert(sha).second) append.borrowed.push_back(bundle.evidence.at(sha));
            append.entries.push_back(std::move(brought));
            ++out.added;
            news = news || subject == bundle.visit;
        }
        out.kept_own.assign(kept_own.begin(), kept_own.end());
        if (append.entries.empty()) return out;
        if (news) {
            // The chain of the other journal comes along: signatures were made of its head.
            append.evidence.push_back(bundle.chain_text);
            append.entries.push_back(
                {act.now,
                 bundle.visit,
                 "imported",
                 act.who,
                 Json{{"entries", out.added},
                      {"head", fmt::format("{}:{}", bundle.head().entries, bundle.head().hash)},
                      {"manifest_sha256", bundle.manifest_sha256},
                      {"manifest_signed_by",
                       bundle.maker.fingerprint.empty() ? Json(nullptr)
                                                        : Json(bundle.maker.fingerprint)}},
                 {sha256(bundle.chain_text)}});
        }
        GW_TRY(auto const entries, store.of_subject(bundle.visit));
        append.seen = {bundle.visit, entries.empty() ? 0 : entries.back().sequence};
        auto const added = store.append(append);
        if (added) return out;
        if (added.error().code != Errc::conflict || attempt >= most_tries)
            return pass_on(added.error());
    }
}

Result<std::optional<store::Fault>> against_bundle(store::Store const& store,
                                                   CheckedBundle const& bundle) {
    GW_CHECK(require_intact(bundle));
    using Found = std::optional<store::Fault>;
    GW_TRY(auto const of_visit, store.of_subject(bundle.visit));
    if (of_visit.empty())
        return Found({std::nullopt, fmt::format("the store holds no visit {}", bundle.visit)});
    bool const imported = visit::origin_of(of_visit.front()).has_value();
    if (!imported) {
        // The journal it was taken from: every number must still have its hash.
        GW_TRY(auto const head, store.head());
        for (auto const& [sequence, hash] : bundle.chain) {
            if (sequence > head.entries)
                return Found({sequence,
                              fmt::format("the record was cut off: it ends at entry {}, the bundle "
                                          "tells of {}",
                                          head.entries,
                                          bundle.head().entries)});
            GW_TRY(auto const there, store.from(sequence, 1));
            if (there.empty() || there.front().hash != hash)
                return Found({sequence, "it was written anew: the bundle names another hash"});
        }
    }
    std::map<std::string, std::set<std::string>> known;
    for (auto const& entry : bundle.entries) {
        if (imported && entry.subject != bundle.visit)
            continue;  // things may be kept as known here
        if (!known.contains(entry.subject)) {
            GW_TRY(known[entry.subject], known_hashes(store, entry.subject));
        }
        if (!known[entry.subject].contains(hash_at_first(entry)))
            return Found({entry.sequence,
                          fmt::format("entry {} of the bundle ({}) is not in this record",
                                      entry.sequence,
                                      entry.kind)});
    }
    // What was brought over must still give the hash that it had at home.
    for (auto const& entry : of_visit)
        if (visit::origin_of(entry) && !visit::original_of(entry))
            return Found(
                {entry.sequence, "it does not give the hash that it had where it came from"});
    return Found();
}

Json imported_json(Imported const& imported) {
    return Json{{"visit", imported.visit},
                {"added", imported.added},
                {"known", imported.known},
                {"kept_own", imported.kept_own}};
}

std::string imported_text(Imported const& imported) {
    auto out = fmt::format("Visit {}: {} entries added, {} were there already.\n",
                           imported.visit,
                           imported.added,
                           imported.known);
    for (auto const& thing : imported.kept_own)
        out +=
            fmt::format("  {} is known here by entries of its own and was left as it is\n", thing);
    return out;
}

}  // namespace gw::desk
