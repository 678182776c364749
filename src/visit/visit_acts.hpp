#pragma once
/// What a person may record in a visit. Each act is held against where the visit stands and becomes
/// one journal entry, or is refused in one sentence.
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "visit/journal.hpp"
#include "visit/visit_state.hpp"

namespace gw::visit {

/// Who does it, and when by this device's clock.
struct Act {
    std::string who;
    Instant now;
    std::optional<Instant> at;  ///< when it was so; none: now
    /// The last entry of the visit that whoever acts had before his eyes; none: whatever it is.
    /// When more was recorded since, the act is refused: he might have decided otherwise.
    std::optional<std::int64_t> seen = {};
};

/// A file that was given, as the caller read it.
struct GivenFile {
    std::string name, sha256;
    bool is_run = false;
    std::optional<Instant> of;  ///< the time that a run states of itself
    std::string stream;         ///< that a run states of itself
    /// What was worked out from the file, for a step that wants a reading.
    struct Reading {
        double number{};
        std::optional<double> u;
        std::string unit;
    };
    std::optional<Reading> reading;
};

struct AddRequest {
    std::string stage, step;
    std::optional<std::string> value, unit;
    std::optional<double> u;
    std::optional<GivenFile> file;
    std::optional<std::string> note;
    std::string with, stream;
    std::optional<std::string> override_reason, not_done, not_obtainable, not_applicable;
    std::string second, permit;
    bool aside =
        false;  ///< the file is kept beside the step (a photograph, a paper): it settles nothing
};

/// A visit to be opened: the first entry, and the plan as its evidence.
struct NewVisit {
    std::string plan, analyser, site, title, module;
    Json judging;  ///< an object, or null: the usual criteria and reference
};
NewEntry open_visit(NewVisit const& what,
                    std::string const& visit,
                    std::string const& plan_hash,
                    Act const& act);

/// Evidence for a step, what stands in for it, or what is kept beside it. Refuses: an ended visit
/// (but not late evidence of the time before), an unknown stage or step, a step whose predecessors
/// are not settled, a safety step overridden without a second person and a permit, a unit that does
/// not fit.
Result<NewEntry> add(VisitState const& visit, AddRequest const& request, Act const& act);

/// Takes an entry out of force; it stays in the record. No `entry`: the last one that is in force.
Result<NewEntry> undo(VisitState const& visit,
                      std::vector<Entry> const& entries,
                      std::optional<std::int64_t> entry,
                      std::string const& reason,
                      Act const& act);
Result<NewEntry> interrupt(VisitState const& visit, std::string const& reason, Act const& act);
Result<NewEntry> resume(VisitState const& visit, Act const& act);

struct WayBackRequest {
    std::string to, reason, until, owner;
};
Result<NewEntry> take_way_back(VisitState const& visit,
                               WayBackRequest const& request,
                               Act const& act);

struct EndRequest {
    std::string as;  ///< completed, on-fallback, abandoned
    std::string reason, until, owner;
};
Result<NewEntry> end(VisitState const& visit, EndRequest const& request, Act const& act);

}  // namespace gw::visit
