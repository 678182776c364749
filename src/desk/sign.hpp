#pragma once
/// Signing a visit, and what its signatures are worth. The caller holds the key, opened; who needs
/// a passphrase in memory wipes it (Secret).
#include <functional>
#include <string>
#include <vector>

#include "desk/key.hpp"
#include "desk/visit.hpp"
#include "visit/signature.hpp"

namespace gw::desk {

struct SignRequest {
    visit::Statement statement{};
    std::vector<std::string> reservations;
};
struct SignedVisit {
    visit::Signature signature;  ///< valid
    std::string visit;
};
/// Adds a signature to the record of a visit: of its findings, its ledger and the whole journal as
/// they stand now. Refuses what visit::may_be_signed refuses. `now`: by this device's clock.
Result<SignedVisit> sign_visit(store::Store& store,
                               std::string const& id,
                               SignRequest const& what,
                               SigningKey const& key,
                               Instant now);

/// Holds each signature against its key and the record: the entry it names as the journal's head
/// must be the one that the store holds, the text must tell of this visit and its plan, the file of
/// findings must be the one named. hash_of_head: of the entry that the statement names as the
/// journal's head, as the record holds it now.
void check_signature(visit::Signature& signature,
                     std::string const& visit,
                     std::string const& hash_of_head);

/// What holds a record, as far as checking its signatures asks: a store, or a bundle.
struct RecordView {
    std::function<std::string(std::int64_t)> hash_of_entry;           ///< "" when it has none
    std::function<Result<std::string>(std::string const&)> evidence;  ///< by SHA-256
};
/// The signatures among a visit's entries, each checked. Those that came from another store are
/// held against the chain that was brought along with them.
std::vector<visit::Signature> checked_signatures(std::string const& visit,
                                                 std::vector<visit::Entry> const& entries,
                                                 RecordView const& record);
std::vector<visit::Signature> visit_signatures(store::Store const& store,
                                               std::string const& visit,
                                               std::vector<visit::Entry> const& entries);

Json signed_json(SignedVisit const& done);
std::string signed_text(SignedVisit const& done);

}  // namespace gw::desk
