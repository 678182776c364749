#pragma once
/// The register: one line for each visit and each thing, so that lists need not read the journal.
/// A pure fold over the entries; a keeper may store it, and must be able to make it again.
#include <cstdint>
#include <set>
#include <string>
#include <vector>

#include "visit/entry.hpp"

namespace gw::visit {

struct VisitLine {
    std::string visit, analyser, plan, title;
    std::string opened, changed;  ///< ISO 8601, as recorded
    std::string state;         ///< "open", "interrupted", "completed", "on-fallback", "abandoned"
    std::string until, owner;  ///< of a visit left on fallback; "" otherwise
    std::int64_t entries{}, last{};
    friend bool operator==(VisitLine const&, VisitLine const&) = default;
};

struct ThingLine {
    std::string thing;  ///< "analyser:PX-1"
    std::string kind, id;
    std::string body;  ///< canonical JSON: what is known of it now
    std::string due;   ///< the next day something about it falls due, "2026-03-02"; "" for none
    std::string changed;
    std::int64_t entries{}, last{};
    friend bool operator==(ThingLine const&, ThingLine const&) = default;
};

/// What an entry is about. Any other subject stands in no list.
enum class About { visit, thing, other };
About about(Entry const& entry);

/// The line after `entry`. The first entry of a subject meets an empty line. `line` may be any that
/// stands in the store; an entry that cannot be understood changes counts only.
void note(VisitLine& line, Entry const& entry);
void note(ThingLine& line, Entry const& entry);

/// Entries of one subject that an undo takes out of force: the undone, unless that undo is undone.
std::set<std::int64_t> withdrawn(std::vector<Entry> const& entries);

/// The line of a subject from all its entries, in order.
VisitLine visit_line(std::vector<Entry> const& entries);
ThingLine thing_line(std::vector<Entry> const& entries);
/// True for an entry that changes what earlier ones mean: the line is then folded anew.
bool needs_whole_history(Entry const& entry);

}  // namespace gw::visit
