#include "store/rules.hpp"

#include <fmt/format.h>

namespace gw::store {

namespace {

constexpr std::size_t most_faults = 100;  // a record in ruins is told as such soon enough

// Lines as kept against lines as the journal gives them; both by name.
template <class Line, class Name>
void compare(ChainCheck& check,
             std::map<std::string, Line> const& right,
             std::vector<Line> const& kept,
             char const* list,
             Name const& name) {
    std::set<std::string> seen;
    for (auto const& line : kept) {
        auto const& id = name(line);
        seen.insert(id);
        auto const should = right.find(id);
        if (should == right.end())
            check.fault(
                {}, fmt::format("the list of {} holds \"{}\", which no entry tells of", list, id));
        else if (!(should->second == line))
            check.fault(
                should->second.last,
                fmt::format(
                    "the list of {} does not say of \"{}\" what its entries say", list, id));
    }
    for (auto const& [id, line] : right)
        if (!seen.contains(id))
            check.fault(line.last, fmt::format("\"{}\" is missing from the list of {}", id, list));
}

}  // namespace

tl::unexpected<Error> no_such_evidence(std::string const& sha256) {
    return fail(Errc::not_found,
                fmt::format("No file {} is kept here.", sha256.substr(0, 64)),
                "evidence",
                "give the file itself");
}

Result<> require_seen(Append::Seen const& seen, std::int64_t last) {
    if (last == seen.last) return {};
    return fail(Errc::conflict,
                fmt::format("Somebody else has added to {} in the meantime.", seen.subject),
                seen.subject,
                "look at it again and repeat");
}

Result<> require_named(Append const& what, std::vector<Entry> const& entries) {
    std::size_t names = 0;
    for (auto const& entry : entries) names += entry.evidence.size();
    if (names < what.evidence.size() + what.borrowed.size())
        return fail(Errc::bad_input, "A file is given that no entry names.", "evidence");
    return {};
}

void ChainCheck::fault(std::optional<std::int64_t> entry, std::string what) {
    if (faults_.size() < most_faults) faults_.push_back({entry, std::move(what)});
}

bool ChainCheck::enough() const { return faults_.size() >= most_faults; }

void ChainCheck::next(Entry const& entry) {
    if (auto what = visit::fault_of(entry, head_); !what.empty())
        fault(entry.sequence > head_.entries ? head_.entries + 1 : entry.sequence, std::move(what));
    head_ = {entry.sequence, entry.hash};
    if (known_ && known_->entries == entry.sequence) {
        known_seen_ = true;
        if (known_->hash != entry.hash)
            fault(entry.sequence,
                  "it is not the entry that stood here when the head was noted: the record was "
                  "rewritten");
    }
    for (auto const& hash : entry.evidence) named_.emplace(hash, entry.sequence);
    switch (visit::about(entry)) {
        case visit::About::visit:
            visit::note(visits_[entry.subject], entry);
            break;
        case visit::About::thing:
            visit::note(things_[entry.subject], entry);
            break;
        case visit::About::other:
            break;
    }
    if (visit::needs_whole_history(entry)) anew_.insert(entry.subject);
}

void ChainCheck::folded(std::string const& subject, std::vector<Entry> const& history) {
    if (auto const line = visits_.find(subject); line != visits_.end())
        line->second = visit::visit_line(history);
    if (auto const line = things_.find(subject); line != things_.end())
        line->second = visit::thing_line(history);
}

void ChainCheck::file(std::string const& sha256, std::string const& what) {
    found_.insert(sha256);
    auto const named = named_.find(sha256);
    std::optional<std::int64_t> const entry =
        named == named_.end() ? std::nullopt : std::optional(named->second);
    if (!what.empty()) fault(entry, fmt::format("file {}: {}", sha256, what));
    if (!entry) fault({}, fmt::format("file {} is kept, but no entry names it", sha256));
}

void ChainCheck::visit_lines(std::vector<VisitLine> const& kept) {
    compare(
        *this, visits_, kept, "visits", [](VisitLine const& line) -> auto& { return line.visit; });
}

void ChainCheck::thing_lines(std::vector<ThingLine> const& kept) {
    compare(
        *this, things_, kept, "things", [](ThingLine const& line) -> auto& { return line.thing; });
}

void ChainCheck::kept_head(Head const& kept) {
    if (!(kept == head_))
        fault({},
              fmt::format("the record ends at entry {}, but {} were counted: its end was cut off "
                          "or rewritten",
                          head_.entries,
                          kept.entries));
}

Checked ChainCheck::end() {
    for (auto const& [hash, entry] : named_)
        if (!found_.contains(hash)) fault(entry, fmt::format("file {} is missing", hash));
    if (known_ && known_->entries > 0 && !known_seen_)
        fault(head_.entries + 1,
              fmt::format("the record ends at entry {}, but it once held {}: its end is missing",
                          head_.entries,
                          known_->entries));
    Checked out;
    out.head = head_;
    out.evidence = static_cast<std::int64_t>(found_.size());
    out.faults = faults_.size();
    if (!faults_.empty()) out.first_bad = faults_.front();
    return out;
}

}  // namespace gw::store
