#pragma once
/// The use-cases of a visit: open it, record in it, look at it, end it. Each one reads the record,
/// decides on what it read, and writes; when somebody else wrote in between, it decides again, or
/// refuses with conflict at "seen" where the act names what was seen.
#include <optional>
#include <string>
#include <vector>

#include "store/store.hpp"
#include "visit/visit_acts.hpp"
#include "visit/visit_output.hpp"

namespace gw::desk {

struct VisitStart {
    std::string plan, analyser, site, title, module, criteria;
};
/// Opens a visit and answers its id. An unknown analyser becomes a thing; the plan is kept as
/// evidence, so that the visit stays what it was when plans change.
Result<std::string> start_visit(store::Store& store, VisitStart const& what, visit::Act const& act);

/// The state of a visit, without its findings. `id` may be the beginning of one id only.
struct LoadedVisit {
    visit::VisitState state;
    std::vector<visit::Entry> entries;
};
Result<LoadedVisit> load_visit(store::Store const& store, std::string const& id);

Result<visit::VisitShown> show_visit(store::Store const& store, std::string const& id, Instant now);

struct VisitAdd {
    visit::AddRequest request;  ///< its `file` is filled here
    std::string run_path, file_path;
    std::optional<std::string> bytes;  ///< of the file that a path names; none: it is read
    /// The same, kept by the caller until the call is done: what is large is not copied.
    std::optional<std::string_view> borrowed;
};
/// What was recorded, and where it leaves the step.
struct Recorded {
    visit::Entry entry;
    visit::VisitState state;
    std::string step;  ///< "" when it is about no step
};
Result<Recorded> add_to_visit(store::Store& store,
                              std::string const& id,
                              VisitAdd const& what,
                              visit::Act const& act);
Result<Recorded> undo_in_visit(store::Store& store,
                               std::string const& id,
                               std::optional<std::int64_t> entry,
                               std::string const& reason,
                               visit::Act const& act);
Result<Recorded> interrupt_visit(store::Store& store,
                                 std::string const& id,
                                 std::string const& reason,
                                 visit::Act const& act);
Result<Recorded> resume_visit(store::Store& store, std::string const& id, visit::Act const& act);
Result<Recorded> turn_back(store::Store& store,
                           std::string const& id,
                           visit::WayBackRequest const& what,
                           visit::Act const& act);
Result<Recorded> end_visit(store::Store& store,
                           std::string const& id,
                           visit::EndRequest const& what,
                           visit::Act const& act);

Json recorded_json(Recorded const& recorded);
std::string recorded_text(Recorded const& recorded);
Json visits_json(std::vector<visit::VisitLine> const& visits);
std::string visits_text(std::vector<visit::VisitLine> const& visits);

}  // namespace gw::desk
