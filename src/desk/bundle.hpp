#pragma once
/// The bundle: everything a visit leaves behind in one plain zip, so that the record outlives this
/// machine and this program. What is in it, and how to check it without this program:
/// docs/bundle.md.
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "base/zip.hpp"
#include "desk/key.hpp"
#include "desk/sign.hpp"
#include "store/store.hpp"

namespace gw::desk {

struct ExportRequest {
    std::string visit;
    std::string program;              ///< "gaswright 0.1.0": stands on the handover
    SigningKey const* key = nullptr;  ///< signs the list of checksums; none: it stays unsigned
    bool letter = false;              ///< paper of the handover; else A4
};
struct Exported {
    std::string bytes, visit;
    std::size_t files{}, entries{};
    visit::Head head;             ///< of the journal it was taken from
    std::string manifest_sha256;  ///< stands for the whole bundle
    std::string signed_by;        ///< of the manifest; "" when unsigned
};
/// The same record, key and program give the same bytes: no clock is read.
Result<Exported> export_visit(store::Store const& store, ExportRequest const& what);

/// The first thing that is wrong in a bundle.
struct BadFile {
    std::string file, what;
};

/// A bundle that was read and held against itself.
struct CheckedBundle {
    std::optional<BadFile> first_bad;
    [[nodiscard]] bool intact() const { return !first_bad; }

    /// Intact, the manifest signed by a key that is trusted, at least one signature under a
    /// statement, and every one of them that stands by a trusted key in its own name.
    bool trusted = false;
    std::vector<std::string> untrusted;  ///< why not, one sentence each

    std::string visit;
    std::vector<visit::Signature> signatures;
    struct Maker {
        std::string fingerprint;  ///< of the key that signed the manifest; "" when unsigned
        std::string name;         ///< as the trust file has it; "" when it has not
    } maker;
    std::string manifest_sha256;
    /// In order; those of the visit and of the things it names.
    std::vector<visit::Entry> entries;
    std::map<std::int64_t, std::string> chain;  ///< number and hash of the journal's entries
    std::string chain_text;
    std::map<std::string, std::string> evidence;  ///< by SHA-256
    [[nodiscard]] visit::Head head() const;
};
/// Never fails: what cannot be read is the first thing that is bad. `source` stands in sentences.
/// limits: how much is unpacked at most.
CheckedBundle check_bundle(std::string_view bytes,
                           std::string const& source,
                           std::vector<TrustedKey> const& trust,
                           ZipLimits const& limits = {});

Json checked_bundle_json(CheckedBundle const& checked);
std::string checked_bundle_text(CheckedBundle const& checked, std::string const& file);

struct Imported {
    std::string visit;
    std::size_t added{}, known{};       ///< entries
    std::vector<std::string> kept_own;  ///< things that this store knows by itself already
};
/// Adds to a store what it does not hold yet. Refuses a bundle that is not intact, naming what is
/// bad; all of it is added or nothing. Entries keep their place in their own journal as `origin`.
Result<Imported> import_bundle(store::Store& store,
                               CheckedBundle const& bundle,
                               visit::Act const& act);
Json imported_json(Imported const& imported);
std::string imported_text(Imported const& imported);

/// Is all that the bundle tells of still in this store, unchanged? The first entry that is missing
/// or another; none when all is there. A record that was cut off or written anew is found so.
/// Refuses a bundle that is not intact.
Result<std::optional<store::Fault>> against_bundle(store::Store const& store,
                                                   CheckedBundle const& bundle);

}  // namespace gw::desk
