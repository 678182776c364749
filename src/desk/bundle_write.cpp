#include <algorithm>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <set>

#include "base/base.hpp"
#include "base/difference.hpp"
#include "base/zip.hpp"
#include "desk/bundle.hpp"
#include "desk/bundle_files.hpp"
#include "desk/load.hpp"
#include "desk/visit.hpp"
#include "desk/visit_handover.hpp"
#include "trace/trace.hpp"

namespace gw::desk {

namespace {

constexpr std::size_t chain_step = 5000;  // entries read at a time

// A file's name as a member of a zip may be called, whatever it was called on its machine.
std::string safe_name(std::string const& name) {
    std::string out;
    for (char const c : name) {
        bool const plain = (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') ||
                           (c >= 'A' && c <= 'Z') || c == '-' || c == '_' || c == '.';
        out += plain ? c : '_';
    }
    while (!out.empty() && out.front() == '.') out.erase(0, 1);
    return out.empty() ? "file" : out.substr(0, 100);
}

bool is_csv(std::string_view bytes) { return !bytes.starts_with("CDF") && !looks_like_json(bytes); }

class Writer {
  public:
    Writer(store::Store const& store, ExportRequest const& what) : store_(store), what_(what) {}

    Result<Exported> write() {
        GW_TRY(auto const loaded, load_visit(store_, what_.visit));
        GW_TRY(out_.head, store_.head());
        visit_ = loaded.state.visit;
        auto const& last = loaded.entries.back();
        GW_TRY(auto const as_of, parse_instant(last.recorded, "recorded"));
        GW_TRY(auto const shown, show_visit(store_, visit_, as_of));
        GW_TRY(auto const entries, entries_of(loaded));
        GW_CHECK(put_chain(loaded.entries.front().sequence));
        put_evidence_of_steps(loaded.state);
        for (auto const& entry : entries) {
            GW_CHECK(put_entry(entry));
        }
        put_signatures(shown);
        GW_CHECK(put_settings(loaded.state));
        auto const whole = visit::visit_json(shown);
        put("findings.json",
            to_text(Json{{"schema", "gaswright.findings/1"},
                         {"visit", visit_},
                         {"findings", whole.at("findings")},
                         {"ledger", whole.at("ledger")},
                         {"may_sign", whole.at("may_sign")}}));
        put("visit.json", to_text(whole));
        GW_TRY(auto const handover, visit_handover(store_, shown, what_.program));
        GW_TRY(auto pdf,
               report::document_pdf(handover,
                                    what_.letter ? report::Paper::letter : report::Paper::a4));
        put("handover.pdf", std::move(pdf));
        GW_TRY(auto html, report::document_html(handover));
        put("handover.html", std::move(html));
        put("handover.json", to_text(report::handover_json(handover.first)));
        put("README.txt", readme());
        return sealed(entries.size());
    }

  private:
    void put(std::string name, std::string bytes) {
        members_.push_back({std::move(name), std::move(bytes)});
    }

    // The visit's entries and those of every thing that it names, in order.
    Result<std::vector<visit::Entry>> entries_of(LoadedVisit const& loaded) const {
        std::set<std::string> words = {loaded.state.analyser, loaded.state.site};
        for (auto const& entry : loaded.entries) words.insert(entry.who);
        for (auto const& stage : loaded.state.stages)
            for (auto const& step : stage.steps)
                for (auto const& evidence : step.evidence) {
                    words.insert(evidence.value);
                    words.insert(evidence.with);
                    if (step.step->role.ends_with("cylinder") && !evidence.sha256.empty())
                        if (auto const bytes = store_.evidence(evidence.sha256))
                            if (auto const cylinder = cylinder_of(*bytes, evidence.file))
                                words.insert(cylinder->serial);
                }
        auto out = loaded.entries;
        GW_TRY(auto const things, store_.things(""));
        for (auto const& thing : things) {
            if (!words.contains(thing.id)) continue;
            GW_TRY(auto const more, store_.of_subject(thing.thing));
            out.insert(out.end(), more.begin(), more.end());
        }
        std::sort(out.begin(), out.end(), [](auto const& a, auto const& b) {
            return a.sequence < b.sequence;
        });
        return out;
    }

    // Number and hash of every entry of the journal from the visit's first on, also of those that
    // are about something else: what they say stays with their owner.
    Result<> put_chain(std::int64_t first) {
        std::string text;
        for (auto from = first; from <= out_.head.entries;) {
            GW_TRY(auto const part, store_.from(from, chain_step));
            if (part.empty()) break;
            for (auto const& entry : part)
                if (entry.sequence <= out_.head.entries)
                    text += fmt::format("{} {}\n", entry.sequence, entry.hash);
            from = part.back().sequence + 1;
        }
        put(std::string(chain_file), std::move(text));
        return {};
    }

    // Files of steps stand where a reader looks for them, under the number of their entry.
    void put_evidence_of_steps(visit::VisitState const& state) {
        for (auto const& stage : state.stages)
            for (auto const& step : stage.steps)
                for (auto const& evidence : step.evidence) {
                    if (evidence.sha256.empty()) continue;
                    auto const& role = step.step->role;
                    std::string const folder = evidence.kind == visit::Wants::run ? "runs"
                                               : role.ends_with("cylinder")       ? "certificates"
                                               : role.starts_with("settings")     ? "settings"
                                                                                  : "files";
                    places_.emplace(
                        evidence.sha256,
                        fmt::format(
                            "{}/{:08}-{}", folder, evidence.entry, safe_name(evidence.file)));
                }
        places_.emplace(state.plan->hash, "plan/" + safe_name(state.plan->name) + ".json");
    }

    Result<> put_entry(visit::Entry const& entry) {
        put(journal_name(entry.sequence), visit::sealed_text(entry));
        for (auto const& sha : entry.evidence) {
            if (!kept_.insert(sha).second) continue;
            GW_TRY(auto bytes, store_.evidence(sha));
            std::string const folder = entry.kind == "signature"  ? "signed"
                                       : entry.kind == "imported" ? "chains"
                                                                  : "files";
            auto const place = places_.contains(sha)
                                   ? places_.at(sha)
                                   : fmt::format("{}/{:08}-{}{}",
                                                 folder,
                                                 entry.sequence,
                                                 sha.substr(0, 12),
                                                 looks_like_json(bytes) ? ".json" : ".txt");
            // A run that is no text yet is given as text beside it.
            if (place.starts_with("runs/") && !is_csv(bytes))
                if (auto const run = run_of(bytes, place); run)
                    if (auto const* trace = std::get_if<trace::Trace>(&*run))
                        put(place + ".as.csv", trace::trace_csv(*trace));
            put(place, std::move(bytes));
        }
        return {};
    }

    void put_signatures(visit::VisitShown const& shown) {
        for (auto const& signature : shown.signatures) {
            auto const key = public_key_of_hex(signature.public_key, "key");
            auto const bytes = signature_of_hex(signature.signature, "signature");
            if (!key || !bytes) continue;  // told in visit.json as not valid
            auto const name = fmt::format(
                "signatures/{:08}-{}", signature.entry, visit::name(signature.said.statement));
            put(name + ".txt", signature.text);
            put(name + ".sig", std::string(bytes->begin(), bytes->end()));
            put(name + ".pem", pem_of(*key));
        }
    }

    Result<> put_settings(visit::VisitState const& state) {
        std::optional<std::string> before, after;
        for (auto const& stage : state.stages)
            for (auto const& step : stage.steps) {
                auto const* stands = step.current();
                if (stands == nullptr || stands->sha256.empty()) continue;
                auto* into = step.step->role == "settings_before"  ? &before
                             : step.step->role == "settings_after" ? &after
                                                                   : nullptr;
                if (into == nullptr) continue;
                GW_TRY(*into, store_.evidence(stands->sha256));
            }
        if (before && after)
            put("settings/difference.txt", difference_text(line_changes(*before, *after)));
        return {};
    }

    [[nodiscard]] std::string readme() const {
        return fmt::format(
            "What the visit {} leaves behind.\n"
            "Made by {}; the journal had {} entries, the last of hash\n{}\n\n"
            "handover.pdf, handover.html   to be read\n"
            "handover.json                 data of the first page; its SHA-256 stands on it\n"
            "findings.json                 the findings, and what stood against a signature\n"
            "visit.json                    the whole visit as data\n"
            "runs/ certificates/ settings/ files/   the evidence, as it was handed in\n"
            "journal/                      one file an entry; its SHA-256 is the entry's hash\n"
            "chain.txt                     number and hash of every entry of the journal since\n"
            "signatures/, signed/          what was signed, by which key, and the findings of "
            "then\n"
            "manifest.sha256               SHA-256 of every other file\n\n"
            "To check it without the program that made it, unpack it and, in its folder:\n\n"
            "  sha256sum --check --strict manifest.sha256\n"
            "{}"
            "  for t in signatures/*.txt; do s=${{t%.txt}}; openssl pkeyutl -verify -pubin \\\n"
            "    -inkey $s.pem -rawin -in $t -sigfile $s.sig; done\n"
            "  sha256sum journal/*.txt     each sum stands as \"previous\" in the entry after it,\n"
            "                              and with its number in chain.txt\n"
            "  openssl pkey -pubin -in KEY.pem -outform DER | sha256sum     fingerprint of a "
            "key\n\n"
            "A signature says who signed, not that the time is right: its text says what the clock "
            "was\nheld against. Trust a key when its owner told you its fingerprint.\n",
            visit_,
            what_.program,
            out_.head.entries,
            out_.head.hash,
            what_.key == nullptr
                ? "  (the list itself was not signed)\n"
                : "  openssl pkeyutl -verify -pubin -inkey manifest.pem -rawin \\\n    -in "
                  "manifest.sha256 -sigfile manifest.sig\n");
    }

    Result<Exported> sealed(std::size_t entries) {
        if (what_.key != nullptr) put(std::string(manifest_key), pem_of(what_.key->public_key()));
        std::sort(members_.begin(), members_.end(), [](auto const& a, auto const& b) {
            return a.name < b.name;
        });
        std::string manifest;
        for (auto const& member : members_)
            manifest += fmt::format("{}  {}\n", sha256(member.bytes), member.name);
        out_.manifest_sha256 = sha256(manifest);
        if (what_.key != nullptr) {
            auto const signature = what_.key->sign(manifest);
            put(std::string(manifest_signature), {signature.begin(), signature.end()});
            out_.signed_by = fingerprint(what_.key->public_key());
        }
        put(std::string(manifest_file), std::move(manifest));
        out_.visit = visit_;
        out_.files = members_.size();
        out_.entries = entries;
        GW_TRY(out_.bytes, zip_archive(members_));
        return std::move(out_);
    }

    store::Store const& store_;
    ExportRequest const& what_;
    std::string visit_;
    std::vector<ZipMember> members_;
    std::map<std::string, std::string> places_;  // of evidence by its SHA-256
    std::set<std::string> kept_;
    Exported out_;
};

}  // namespace

Result<Exported> export_visit(store::Store const& store, ExportRequest const& what) {
    return Writer(store, what).write();
}

}  // namespace gw::desk
