#include "desk/bundle.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <set>

#include "base/base.hpp"
#include "base/zip.hpp"
#include "desk/bundle_files.hpp"

namespace gw::desk {

namespace {

constexpr std::string_view container = "(the zip itself)";

struct Listed {
    std::string sha256, name;
};

// Lines "HASH  NAME" as sha256sum writes them.
std::optional<std::vector<Listed>> read_manifest(std::string_view text) {
    std::vector<Listed> out;
    while (!text.empty()) {
        auto const end = text.find('\n');
        if (end == std::string_view::npos || end < 67 || text.substr(64, 2) != "  ")
            return std::nullopt;
        out.push_back({std::string(text.substr(0, 64)), std::string(text.substr(66, end - 66))});
        if (!visit::is_sha256(out.back().sha256) || !zip_name_fault(out.back().name).empty())
            return std::nullopt;
        text.remove_prefix(end + 1);
    }
    return out;
}

class Checker {
  public:
    explicit Checker(std::vector<TrustedKey> const& trust) : trust_(trust) {}

    CheckedBundle check(std::string_view bytes,
                        std::string const& source,
                        ZipLimits const& limits) {
        auto read = read_zip(bytes, source, limits);
        if (!read) {
            bad(container, read.error().what);
            return std::move(out_);
        }
        zip_ = *std::move(read);
        files();
        if (out_.intact()) journal();
        if (out_.intact()) evidence();
        if (out_.intact()) signatures();
        trusted();
        return std::move(out_);
    }

  private:
    void bad(std::string_view file, std::string what) {
        if (!out_.first_bad) out_.first_bad = BadFile{std::string(file), std::move(what)};
    }

    // Every member against the list of checksums; then the list; then the container around them.
    void files() {
        for (auto const& damage : zip_.damaged) bad(damage.name, damage.what);
        if (!out_.intact()) return;
        auto const* manifest = zip_.find(manifest_file);
        if (manifest == nullptr)
            return bad(manifest_file, "it is missing: this is no bundle of a visit");
        auto const listed = read_manifest(manifest->bytes);
        if (!listed) return bad(manifest_file, "it is no list of checksums");
        out_.manifest_sha256 = sha256(manifest->bytes);
        std::map<std::string, std::string> sums;
        for (auto const& line : *listed)
            if (!sums.emplace(line.name, line.sha256).second)
                return bad(manifest_file, "it lists " + line.name + " twice");
        for (auto const& member : zip_.members) {
            if (member.name == manifest_file || member.name == manifest_signature) continue;
            auto const found = sums.find(member.name);
            if (found == sums.end()) return bad(member.name, "it is not on the list of checksums");
            if (sha256(member.bytes) != found->second)
                return bad(member.name, "its bytes are not those that were listed");
        }
        for (auto const& line : *listed)
            if (zip_.find(line.name) == nullptr)
                return bad(line.name, "it is on the list of checksums, and missing");
        manifest_signed(manifest->bytes);
        if (!zip_.oddity.empty()) bad(container, zip_.oddity);
    }

    void manifest_signed(std::string const& manifest) {
        auto const* signature = zip_.find(manifest_signature);
        auto const* pem = zip_.find(manifest_key);
        if (signature == nullptr && pem == nullptr) return;
        if (signature == nullptr)
            return bad(manifest_signature, "it is missing, though its key is there");
        if (pem == nullptr)
            return bad(manifest_key, "it is missing, though its signature is there");
        auto const key = public_key_of_pem(pem->bytes, std::string(manifest_key));
        if (!key) return bad(manifest_key, key.error().what);
        SignatureBytes bytes{};
        if (signature->bytes.size() != bytes.size())
            return bad(manifest_signature, "it is no signature of 64 bytes");
        std::copy(signature->bytes.begin(), signature->bytes.end(), bytes.begin());
        if (!verify(*key, manifest, bytes))
            return bad(manifest_signature, "it does not fit the list of checksums");
        out_.maker.fingerprint = fingerprint(*key);
        for (auto const& trusted : trust_)
            if (trusted.fingerprint == out_.maker.fingerprint) out_.maker.name = trusted.name;
    }

    // Each entry gives the hash that the chain states for its number, and follows the one before.
    void journal() {
        auto const* chain = zip_.find(chain_file);
        auto const read = chain == nullptr ? std::nullopt : read_chain(chain->bytes);
        if (!read || read->empty())
            return bad(chain_file, "it is no list of the journal's entries");
        out_.chain = *read;
        out_.chain_text = chain->bytes;
        for (auto const& member : zip_.members) {
            if (!member.name.starts_with(journal_folder)) continue;
            auto entry = visit::read_sealed_text(member.bytes, member.name);
            if (!entry) return bad(member.name, entry.error().what);
            if (member.name != journal_name(entry->sequence))
                return bad(member.name,
                           fmt::format("it holds entry {} of the journal", entry->sequence));
            auto const stated = out_.chain.find(entry->sequence);
            if (stated != out_.chain.end() && stated->second != entry->hash)
                return bad(member.name, "it is not the entry that chain.txt names");
            auto const before = out_.chain.find(entry->sequence - 1);
            if (before != out_.chain.end() && before->second != entry->previous)
                return bad(member.name, "it does not follow the entry before it in chain.txt");
            auto const after = out_.chain.begin()->first;
            if (entry->sequence > out_.chain.rbegin()->first)
                return bad(member.name, "it comes after the end of chain.txt");
            if (entry->sequence >= after && stated == out_.chain.end())
                return bad(member.name, "chain.txt does not name it");
            out_.entries.push_back(*std::move(entry));
        }
        std::sort(out_.entries.begin(), out_.entries.end(), [](auto const& a, auto const& b) {
            return a.sequence < b.sequence;
        });
        std::set<std::string> visits;
        for (auto const& entry : out_.entries)
            if (visit::about(entry) == visit::About::visit) visits.insert(entry.subject);
        if (visits.size() != 1)
            return bad(journal_folder, fmt::format("it tells of {} visits", visits.size()));
        out_.visit = *visits.begin();
    }

    // Every file that an entry rests on is there; only those are kept.
    void evidence() {
        std::map<std::string, ZipMember const*> by_hash;
        for (auto const& member : zip_.members) by_hash.emplace(sha256(member.bytes), &member);
        for (auto const& entry : out_.entries)
            for (auto const& sha : entry.evidence) {
                auto const found = by_hash.find(sha);
                if (found == by_hash.end())
                    return bad(journal_name(entry.sequence),
                               fmt::format("the file it rests on is missing (SHA-256 {})", sha));
                out_.evidence.emplace(sha, found->second->bytes);
            }
    }

    void signatures() {
        std::vector<visit::Entry> of_visit;
        for (auto const& entry : out_.entries)
            if (entry.subject == out_.visit) of_visit.push_back(entry);
        out_.signatures = checked_signatures(
            out_.visit,
            of_visit,
            {[&](std::int64_t sequence) {
                 auto const found = out_.chain.find(sequence);
                 return found == out_.chain.end() ? std::string() : found->second;
             },
             [&](std::string const& sha) -> Result<std::string> {
                 auto const found = out_.evidence.find(sha);
                 if (found == out_.evidence.end())
                     return fail(Errc::not_found, "There is no such file.", sha);
                 return found->second;
             }});
        for (auto const& signature : out_.signatures) {
            if (!signature.valid) return bad(journal_name(signature.entry), signature.problem);
            // What stands there for other tools is what the journal holds.
            auto const name = fmt::format(
                "signatures/{:08}-{}", signature.entry, visit::name(signature.said.statement));
            auto const same = [&](char const* suffix, std::string const& wanted) {
                auto const* member = zip_.find(name + suffix);
                if (member == nullptr || member->bytes != wanted)
                    bad(name + suffix, "it is not what the journal holds");
            };
            auto const key = public_key_of_hex(signature.public_key, name);
            auto const bytes = signature_of_hex(signature.signature, name);
            same(".txt", signature.text);
            same(".pem", pem_of(*key));
            same(".sig", std::string(bytes->begin(), bytes->end()));
        }
    }

    void trusted() {
        auto const no = [&](std::string why) { out_.untrusted.push_back(std::move(why)); };
        if (!out_.intact()) return no("the bundle is not intact");
        if (out_.maker.fingerprint.empty())
            no("the list of checksums is not signed");
        else if (out_.maker.name.empty())
            no(fmt::format("the list of checksums is signed by a key that is not trusted ({})",
                           out_.maker.fingerprint));
        std::size_t standing = 0;
        for (auto const& signature : out_.signatures) {
            if (signature.withdrawn) continue;
            ++standing;
            auto const& said = signature.said;
            auto const found = std::find_if(trust_.begin(), trust_.end(), [&](auto const& key) {
                return key.fingerprint == said.key;
            });
            if (found == trust_.end())
                no(fmt::format(
                    "{} signed with a key that is not trusted ({})", said.signer, said.key));
            else if (found->name != said.signer)
                no(fmt::format("{} signed with the key of {}", said.signer, found->name));
        }
        if (standing == 0) no("nobody has signed the visit");
        out_.trusted = out_.untrusted.empty();
    }

    std::vector<TrustedKey> const& trust_;
    ZipRead zip_;
    CheckedBundle out_;
};

}  // namespace

visit::Head CheckedBundle::head() const {
    return chain.empty() ? visit::Head{}
                         : visit::Head{chain.rbegin()->first, chain.rbegin()->second};
}

CheckedBundle check_bundle(std::string_view bytes,
                           std::string const& source,
                           std::vector<TrustedKey> const& trust,
                           ZipLimits const& limits) {
    return Checker(trust).check(bytes, source, limits);
}

Json checked_bundle_json(CheckedBundle const& checked) {
    Json signatures = Json::array();
    for (auto const& signature : checked.signatures)
        signatures.push_back(visit::signature_json(signature));
    auto const& maker = checked.maker;
    return Json{
        {"visit", checked.visit.empty() ? Json(nullptr) : Json(checked.visit)},
        {"intact", checked.intact()},
        {"trusted", checked.trusted},
        {"untrusted_because", checked.untrusted},
        {"first_bad",
         checked.first_bad
             ? Json{{"file", checked.first_bad->file}, {"what", checked.first_bad->what}}
             : Json(nullptr)},
        {"signatures", std::move(signatures)},
        {"manifest",
         Json{{"sha256",
               checked.manifest_sha256.empty() ? Json(nullptr) : Json(checked.manifest_sha256)},
              {"signed_by", maker.fingerprint.empty() ? Json(nullptr) : Json(maker.fingerprint)},
              {"trusted_as", maker.name.empty() ? Json(nullptr) : Json(maker.name)}}},
        {"journal", Json{{"entries", checked.head().entries}, {"head", checked.head().hash}}}};
}

std::string checked_bundle_text(CheckedBundle const& checked, std::string const& file) {
    std::string out;
    if (checked.first_bad)
        out += fmt::format("{} is NOT intact.\n  {}: {}\n",
                           file,
                           checked.first_bad->file,
                           checked.first_bad->what);
    else
        out += fmt::format(
            "{} is intact: every file is as it was listed, every entry follows the "
            "one before it.\nVisit {}, journal {}:{}\n",
            file,
            checked.visit,
            checked.head().entries,
            checked.head().hash);
    if (!checked.signatures.empty()) out += "\nSigned\n";
    for (auto const& signature : checked.signatures) out += visit::signature_text(signature);
    out += checked.trusted
               ? "\nTrusted: the list of checksums and every signature are by trusted keys.\n"
               : "\nNot trusted:\n";
    for (auto const& why : checked.untrusted) out += fmt::format("  {}\n", why);
    if (!checked.trusted && checked.intact())
        out +=
            "Whoever sent it could have made it anew, keys and all: ask the signers for the "
            "fingerprints of their keys and give them with --trust.\n";
    return out;
}

}  // namespace gw::desk
