#pragma once
/// What a person puts a name under: the exact text that is signed, made of the record, and read
/// back from it. The signing itself stands above this folder; here are only words and rules.
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "visit/ledger.hpp"
#include "visit/visit_state.hpp"

namespace gw::visit {

/// work: work complete and left safe. conformity: conformity shown. witness: was present.
/// review: has gone through the record.
enum class Statement { work, conformity, witness, review };
std::string_view name(Statement statement);
std::string_view title(Statement statement);
/// The sentence that is signed.
std::string_view words(Statement statement);
std::optional<Statement> find_statement(std::string_view name);

/// All that a signature covers.
struct Signed {
    Statement statement{};
    std::string visit, analyser, plan_sha256;
    std::string signer, key;      ///< name; fingerprint of the public key
    std::string at;               ///< ISO 8601, by the clock of the signing device
    std::string clock;            ///< plain words: what that clock was held against, if anything
    Head head;                    ///< of the whole journal, as the signer saw it
    std::int64_t last_entry{};    ///< of the visit, as the signer saw it
    std::string findings_sha256;  ///< of findings_text() at that time; kept as evidence
    std::vector<std::string> listed;        ///< every line of the ledger: open, failed, passed over
    std::vector<std::string> reservations;  ///< in the signer's words
};

/// Lines, each ended by a newline: what is signed byte for byte. Line breaks inside a value become
/// blanks, so that no value can pose as another line.
std::string signed_text(Signed const& what);
/// Reads signed_text() back; refuses everything that it would not have written.
Result<Signed> read_signed_text(std::string_view text, std::string const& source);

/// The findings and the ledger of a visit as one canonical line of JSON and a newline: what
/// `findings_sha256` is of.
Result<std::string> findings_text(std::string const& visit,
                                  std::vector<metrology::Finding> const& findings,
                                  Ledger const& ledger);

/// Every line of the ledger, as a signature lists it.
std::vector<std::string> listed_of(Ledger const& ledger);

/// Words on the time at hand: the comparison of this device's clock, or that there was none.
std::string clock_words(VisitState const& visit);

/// A signature as the record holds it. `valid` and `later` are filled by who can check them.
struct Signature {
    std::int64_t entry{};
    std::string recorded, who;
    std::string text;                   ///< signed_text(), byte for byte
    std::string public_key, signature;  ///< hexadecimal, 64 and 128 digits
    std::string findings_sha256;        ///< of the file that the entry rests on
    std::optional<Origin> origin;       ///< signed in another store's record
    bool withdrawn = false;

    bool valid = false;   ///< the key signed this text, and the text tells of this record
    std::string problem;  ///< what is wrong when not valid
    Signed said;          ///< the text, read; empty when it cannot be
    /// What was recorded in the visit after the signer looked, signatures aside.
    std::vector<std::string> later;
    [[nodiscard]] bool of_earlier_state() const { return !later.empty(); }
};

/// The signatures among a visit's entries, oldest first; text and keys as they stand there.
std::vector<Signature> signatures_of(std::vector<Entry> const& entries);

NewEntry signature_entry(Signed const& what,
                         std::string const& public_key,
                         std::string const& signature,
                         Instant recorded);

/// Refuses in one sentence what may not be signed: `work` and `conformity` before the ledger lets
/// them (naming what stands between), a witness or reviewer who signed the work itself, and the
/// same statement twice by one person with nothing recorded in between.
Result<> may_be_signed(Statement statement,
                       std::string const& signer,
                       std::string const& key,
                       Ledger const& ledger,
                       std::vector<Signature> const& before);

Json signature_json(Signature const& signature);
std::string signature_text(Signature const& signature);

}  // namespace gw::visit
