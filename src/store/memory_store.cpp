#include "store/memory_store.hpp"

#include <algorithm>
#include <tuple>

#include "base/hash.hpp"
#include "store/rules.hpp"

namespace gw::store {

Result<std::vector<Entry>> MemoryStore::append(Append const& what) {
    if (what.seen) {
        std::int64_t last = 0;
        for (auto const& entry : entries_)
            if (entry.subject == what.seen->subject) last = entry.sequence;
        GW_CHECK(require_seen(*what.seen, last));
    }
    auto kept = evidence_;
    for (auto const& bytes : what.evidence) kept.emplace(sha256(bytes), bytes);
    for (auto const bytes : what.borrowed) kept.emplace(sha256(bytes), bytes);
    Head head{static_cast<std::int64_t>(entries_.size()),
              entries_.empty() ? std::string() : entries_.back().hash};
    std::vector<Entry> added;
    for (auto const& entry : what.entries) {
        GW_TRY(auto sealed, visit::seal(entry, head));
        for (auto const& hash : sealed.evidence)
            if (!kept.contains(hash)) return no_such_evidence(hash);
        head = {sealed.sequence, sealed.hash};
        added.push_back(std::move(sealed));
    }
    GW_CHECK(require_named(what, added));
    evidence_ = std::move(kept);
    for (auto const& entry : added) {
        entries_.push_back(entry);
        auto const history = of_subject(entry.subject).value();
        if (visit::about(entry) == visit::About::visit)
            visits_[entry.subject] = visit::visit_line(history);
        if (visit::about(entry) == visit::About::thing)
            things_[entry.subject] = visit::thing_line(history);
    }
    return added;
}

Result<std::vector<Entry>> MemoryStore::of_subject(std::string const& subject) const {
    std::vector<Entry> out;
    for (auto const& entry : entries_)
        if (entry.subject == subject) out.push_back(entry);
    return out;
}

Result<std::vector<Entry>> MemoryStore::from(std::int64_t from, std::size_t limit) const {
    std::vector<Entry> out;
    for (auto const& entry : entries_)
        if (entry.sequence >= from && out.size() < limit) out.push_back(entry);
    return out;
}

Result<Head> MemoryStore::head() const {
    if (entries_.empty()) return Head{};
    return Head{entries_.back().sequence, entries_.back().hash};
}

Result<std::string> MemoryStore::evidence(std::string const& hash) const {
    auto const found = evidence_.find(hash);
    if (found == evidence_.end()) return no_such_evidence(hash);
    return found->second;
}

Result<std::vector<VisitLine>> MemoryStore::visits(VisitFilter const& which) const {
    std::vector<VisitLine> out;
    for (auto const& [id, line] : visits_) {
        bool const open = line.state == "open" || line.state == "interrupted";
        if ((which.analyser.empty() || line.analyser == which.analyser) &&
            (open || !which.open_only))
            out.push_back(line);
    }
    std::sort(out.begin(), out.end(), [](auto const& a, auto const& b) { return a.last > b.last; });
    if (which.limit != 0 && out.size() > which.limit) out.resize(which.limit);
    return out;
}

Result<std::vector<ThingLine>> MemoryStore::things(std::string const& kind) const {
    std::vector<ThingLine> out;
    for (auto const& [subject, line] : things_)
        if (kind.empty() || line.kind == kind) out.push_back(line);
    std::sort(out.begin(), out.end(), [](auto const& a, auto const& b) {
        return std::tie(a.kind, a.id) < std::tie(b.kind, b.id);
    });
    return out;
}

Result<std::optional<ThingLine>> MemoryStore::thing(std::string const& subject) const {
    auto const found = things_.find(subject);
    return found == things_.end() ? std::optional<ThingLine>() : found->second;
}

Result<std::optional<VisitLine>> MemoryStore::visit(std::string const& id) const {
    auto const found = visits_.find(id);
    return found == visits_.end() ? std::optional<VisitLine>() : found->second;
}

Result<Checked> MemoryStore::check(std::optional<Head> const& known) const {
    ChainCheck chain(known);
    for (auto const& entry : entries_) chain.next(entry);
    for (auto const& [hash, bytes] : evidence_)
        chain.file(hash, sha256(bytes) == hash ? "" : "it was changed");
    for (auto const& subject : chain.to_fold_anew())
        chain.folded(subject, of_subject(subject).value());
    chain.visit_lines(visits({}).value());
    chain.thing_lines(things("").value());
    return chain.end();
}

Result<> MemoryStore::backup(std::string const& file) const {
    return fail(Errc::bad_input, "A record in memory has no file to copy.", file);
}

}  // namespace gw::store
