#include "desk/sign.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "base/base.hpp"
#include "desk/bundle_files.hpp"

namespace gw::desk {

namespace {

constexpr int most_tries = 20;  // of an append that others were quicker at
constexpr std::size_t longest_reservation = 2000;

Result<> require_reservations(std::vector<std::string> const& reservations) {
    for (auto const& text : reservations) {
        if (trimmed(text).empty() || text.size() > longest_reservation)
            return fail(Errc::bad_input,
                        "A reservation is a sentence of at most 2000 letters.",
                        "--reservation",
                        "say what is reserved");
    }
    return {};
}

}  // namespace

std::optional<std::map<std::int64_t, std::string>> read_chain(std::string_view text) {
    std::map<std::int64_t, std::string> out;
    while (!text.empty()) {
        auto const end = text.find('\n');
        if (end == std::string_view::npos || end < 66) return std::nullopt;
        auto const line = text.substr(0, end);
        auto const number = line.substr(0, line.size() - 65);
        auto const hash = std::string(line.substr(line.size() - 64));
        auto const value = parse_number(number);
        if (line[line.size() - 65] != ' ' || !value || *value < 1 || *value > 9e15 ||
            !visit::is_sha256(hash))
            return std::nullopt;
        auto const sequence = static_cast<std::int64_t>(*value);
        if (std::to_string(sequence) != number ||
            (!out.empty() && sequence != out.rbegin()->first + 1))
            return std::nullopt;
        out.emplace(sequence, hash);
        text.remove_prefix(end + 1);
    }
    return out;
}

void check_signature(visit::Signature& signature,
                     std::string const& visit,
                     std::string const& hash_of_head) {
    signature.valid = false;
    if (!signature.problem.empty()) return;
    auto const where = fmt::format("entry {}", signature.entry);
    auto const number = signature.origin ? signature.origin->sequence : signature.entry;
    auto const key = public_key_of_hex(signature.public_key, where);
    auto const bytes = signature_of_hex(signature.signature, where);
    auto const& said = signature.said;
    if (!key)
        signature.problem = key.error().what;
    else if (!bytes)
        signature.problem = bytes.error().what;
    else if (said.key != fingerprint(*key))
        signature.problem = "the statement names another key than the one beside it";
    else if (!verify(*key, signature.text, *bytes))
        signature.problem = "the signature does not fit the statement";
    else if (said.visit != visit)
        signature.problem = "the statement is about another visit, " + said.visit;
    else if (said.signer != signature.who)
        signature.problem = fmt::format(
            "the record names {} as the signer, the statement {}", signature.who, said.signer);
    else if (said.findings_sha256 != signature.findings_sha256)
        signature.problem = "the statement is of other findings than those kept beside it";
    else if (said.head.entries >= number || said.last_entry > said.head.entries)
        signature.problem = "the statement tells of entries that came after it";
    else if (hash_of_head != said.head.hash)
        signature.problem = fmt::format(
            "entry {} of the journal is no longer the one that was signed", said.head.entries);
    else
        signature.valid = true;
}

std::vector<visit::Signature> checked_signatures(std::string const& visit,
                                                 std::vector<visit::Entry> const& entries,
                                                 RecordView const& record) {
    auto out = visit::signatures_of(entries);
    // The chains of other stores, as they were when this visit was brought over from them.
    std::vector<std::map<std::int64_t, std::string>> chains;
    for (auto const& entry : entries) {
        if (entry.kind != "imported" || entry.evidence.empty()) continue;
        if (auto const text = record.evidence(entry.evidence.front()))
            if (auto chain = read_chain(*text)) chains.push_back(*std::move(chain));
    }
    for (auto& signature : out) {
        auto const& head = signature.said.head;
        auto hash = head.entries == 0  ? std::string(visit::no_previous)
                    : signature.origin ? std::string()
                                       : record.hash_of_entry(head.entries);
        if (signature.origin)
            for (auto const& chain : chains)
                if (auto const found = chain.find(head.entries);
                    found != chain.end() && found->second == head.hash)
                    hash = found->second;
        check_signature(signature, visit, hash);
    }
    return out;
}

std::vector<visit::Signature> visit_signatures(store::Store const& store,
                                               std::string const& visit,
                                               std::vector<visit::Entry> const& entries) {
    return checked_signatures(visit,
                              entries,
                              {[&](std::int64_t sequence) {
                                   auto const found = store.from(sequence, 1);
                                   return found && !found->empty() &&
                                                  found->front().sequence == sequence
                                              ? found->front().hash
                                              : std::string();
                               },
                               [&](std::string const& sha) { return store.evidence(sha); }});
}

Result<SignedVisit> sign_visit(store::Store& store,
                               std::string const& id,
                               SignRequest const& what,
                               SigningKey const& key,
                               Instant now) {
    GW_CHECK(require_reservations(what.reservations));
    for (int attempt = 0;; ++attempt) {
        // The head is read first: everything up to it is behind what is looked at.
        GW_TRY(auto const head, store.head());
        GW_TRY(auto const shown, show_visit(store, id, now));
        auto const& state = shown.state;
        visit::Signed said;
        said.statement = what.statement;
        said.visit = state.visit;
        said.analyser = state.analyser;
        said.plan_sha256 = state.plan->hash;
        said.signer = key.name();
        said.key = fingerprint(key.public_key());
        said.at = to_text(now);
        said.clock = visit::clock_words(state);
        said.head = head;
        said.last_entry = state.last;
        said.listed = visit::listed_of(shown.ledger);
        said.reservations = what.reservations;
        GW_CHECK(visit::may_be_signed(
            what.statement, said.signer, said.key, shown.ledger, shown.signatures));
        if (state.last > head.entries && attempt < most_tries)
            continue;  // somebody wrote meanwhile
        GW_TRY(auto const findings,
               visit::findings_text(state.visit, shown.findings, shown.ledger));
        said.findings_sha256 = sha256(findings);
        auto const text = visit::signed_text(said);
        // What is signed is what can be read again.
        GW_CHECK(visit::read_signed_text(text, "statement"));
        store::Append append;
        append.entries.push_back(
            visit::signature_entry(said, hex_of(key.public_key()), hex_of(key.sign(text)), now));
        append.evidence.push_back(findings);
        append.seen = {state.visit, state.last};
        auto const added = store.append(append);
        if (!added) {
            if (added.error().code == Errc::conflict && attempt < most_tries) continue;
            return pass_on(added.error());
        }
        auto made = visit::signatures_of({added->back()});
        check_signature(made.front(), state.visit, head.hash);
        return SignedVisit{std::move(made.front()), state.visit};
    }
}

Json signed_json(SignedVisit const& done) {
    return Json{{"visit", done.visit}, {"signature", visit::signature_json(done.signature)}};
}

std::string signed_text(SignedVisit const& done) {
    auto const& said = done.signature.said;
    auto out = fmt::format("{} signed \"{}\" as entry {}:\n  {}\n  key {}\n  journal {}:{}\n",
                           said.signer,
                           visit::title(said.statement),
                           done.signature.entry,
                           visit::words(said.statement),
                           said.key,
                           said.head.entries,
                           said.head.hash);
    for (auto const& item : said.listed) out += fmt::format("  listed: {}\n", item);
    for (auto const& item : said.reservations) out += fmt::format("  reservation: {}\n", item);
    return out;
}

}  // namespace gw::desk
