#pragma once
/// store: where the record of visits is kept. Start from: open_store (sqlite_store.hpp) for the
/// file of this machine, Store below for what it can do, MemoryStore (memory_store.hpp) for a
/// record that ends with the program. The form of the file and how to check it without this
/// program: docs/record.md.
#include <optional>
#include <string>
#include <vector>

#include "visit/journal.hpp"
#include "visit/register.hpp"

namespace gw::store {

using visit::Append;
using visit::Entry;
using visit::Head;
using visit::NewEntry;
using visit::ThingLine;
using visit::VisitLine;

/// The first thing found wrong, in the order: file, schema, entries, evidence, register.
struct Fault {
    std::optional<std::int64_t> entry;  ///< none: it belongs to no single entry
    std::string what;
};

struct Checked {
    Head head;                ///< of what is there
    std::int64_t evidence{};  ///< files verified
    std::optional<Fault> first_bad;
    std::size_t faults{};  ///< how many were found; the search stops at a hundred
    [[nodiscard]] bool intact() const { return !first_bad; }
};

struct VisitFilter {
    std::string analyser;    ///< empty: every
    bool open_only = false;  ///< open or interrupted
    std::size_t limit = 0;   ///< 0: all
};

struct Migrated {
    int from{}, to{};
    std::string backup;  ///< the copy made before; empty when nothing had to be done
};

class Store : public visit::Journal {
  public:
    /// Newest first.
    [[nodiscard]] virtual Result<std::vector<VisitLine>> visits(VisitFilter const& which) const = 0;
    /// All of a kind, or all; by kind, then id.
    [[nodiscard]] virtual Result<std::vector<ThingLine>> things(std::string const& kind) const = 0;
    [[nodiscard]] virtual Result<std::optional<ThingLine>> thing(
        std::string const& subject) const = 0;
    [[nodiscard]] virtual Result<std::optional<VisitLine>> visit(std::string const& id) const = 0;

    /// Recomputes the chain, every file and the register, all of it seen at one instant. `known`: a
    /// head noted elsewhere (on a handover): the record must still hold that entry.
    [[nodiscard]] virtual Result<Checked> check(std::optional<Head> const& known) const = 0;
    /// A whole, closed copy in a new file, while others go on writing. Refuses a file that is
    /// there.
    [[nodiscard]] virtual Result<> backup(std::string const& file) const = 0;
};

}  // namespace gw::store
