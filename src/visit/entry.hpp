#pragma once
/// One line of the journal: who recorded what about which subject, and when; each sealed with the
/// one before it. The sealed form is plain text, so that it can be checked with standard tools
/// alone: docs/record.md.
#include <cstdint>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/json.hpp"
#include "base/result.hpp"
#include "base/time.hpp"

namespace gw::visit {

/// What is to be recorded. The journal adds the place in the chain.
struct NewEntry {
    Instant recorded;     ///< by the clock of this device
    std::string subject;  ///< a visit's id, or a thing: "analyser:PX-1"
    std::string kind;     ///< "visit", "evidence", "note", "undo", "thing", ...
    std::string who;
    Json body;                          ///< an object
    std::vector<std::string> evidence;  ///< SHA-256 of every file it rests on
};

struct Entry {
    std::int64_t sequence{};  ///< from 1, without holes
    std::string recorded;     ///< ISO 8601
    std::string subject, kind, who;
    std::string body;                   ///< canonical JSON: one line, keys sorted, UTF-8
    std::vector<std::string> evidence;  ///< order as recorded
    std::string previous;               ///< hash of the entry before; 64 zeros for the first
    std::string hash;                   ///< SHA-256 of sealed_text()
};

/// The end of the chain: how many entries, and the hash of the last.
struct Head {
    std::int64_t entries{};
    std::string hash;
    friend bool operator==(Head const&, Head const&) = default;
};

inline constexpr std::string_view no_previous =
    "0000000000000000000000000000000000000000000000000000000000000000";

/// 64 lower-case hexadecimal digits.
bool is_sha256(std::string_view text);

/// One line, keys sorted at every level, numbers in shortest round-trip form. Text that is no UTF-8
/// is refused.
Result<std::string> canonical(Json const& json);

/// The bytes whose SHA-256 is the entry's hash: nine lines, each ended by a newline.
std::string sealed_text(Entry const& entry);
/// Reads sealed_text() back, its hash recomputed. Refuses everything that sealed_text() would not
/// have written.
Result<Entry> read_sealed_text(std::string_view text, std::string const& source);

/// The entry as it stands behind `head`. Refuses control characters in subject, kind and who, an
/// empty one of them, a body that is no object or larger than 4 MiB, and what is no SHA-256.
Result<Entry> seal(NewEntry const& entry, Head const& head);

/// What is wrong with `entry` as the one after `head`: empty when nothing is.
std::string fault_of(Entry const& entry, Head const& head);

/// Where an entry was first recorded, when it came from another store: its place and its seal in
/// that store's chain. It stands in the body as "origin".
struct Origin {
    std::int64_t sequence{};
    std::string hash, previous;
};
std::optional<Origin> origin_of(Entry const& entry);
/// What records an entry of another store here: its body with its origin beside it. An entry that
/// came from elsewhere already keeps its first origin.
Result<NewEntry> brought_over(Entry const& entry);
/// The entry as it stood where it was first recorded; none when it was recorded here, or when it
/// does not give the hash that its origin names.
std::optional<Entry> original_of(Entry const& entry);

/// The body as a tree; the journal never holds one that cannot be parsed.
Result<Document> body_of(Entry const& entry);

}  // namespace gw::visit
