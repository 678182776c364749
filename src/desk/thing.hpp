#pragma once
/// Sites, analysers, modules, cylinders, instruments, ring lots, people: added to, shown, due.
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "store/store.hpp"
#include "visit/thing.hpp"
#include "visit/visit_acts.hpp"

namespace gw::desk {

struct ThingAdd {
    std::string kind, id;
    std::vector<std::string>
        set;  ///< "name=value"; a value that is JSON is taken as such, an empty one takes it away
    std::string file;  ///< path of a JSON object of fields; kept as evidence
};
Result<visit::ThingLine> add_thing(store::Store& store,
                                   ThingAdd const& what,
                                   visit::Act const& act);

/// A `cylinder` file becomes a thing under its serial; the file is kept as evidence. Adding it
/// again with another certificate replaces what is known and keeps the history.
Result<visit::ThingLine> add_cylinder(store::Store& store,
                                      std::string const& path,
                                      visit::Act const& act);
/// The same from bytes that were read already; `source` stands in messages.
Result<visit::ThingLine> add_cylinder_bytes(store::Store& store,
                                            std::string const& bytes,
                                            std::string const& source,
                                            visit::Act const& act);

struct PressureReading {
    std::string serial;
    double pressure_kpa{};
    std::optional<double> ambient_c;
    std::string with;
    std::string sha256 = {};  ///< of the file that a visit keeps of it; taken back with that
};
Result<visit::ThingLine> read_cylinder_pressure(store::Store& store,
                                                PressureReading const& what,
                                                visit::Act const& act);

struct ThingShown {
    visit::ThingLine line;
    std::vector<visit::Entry> entries;
    std::vector<visit::VisitLine> visits;  ///< of an analyser
};
Result<ThingShown> show_thing(store::Store const& store,
                              std::string const& kind,
                              std::string const& id);
Json thing_json(ThingShown const& shown);
std::string thing_text(ThingShown const& shown);

Json things_json(std::vector<visit::ThingLine> const& things);
std::string things_text(std::vector<visit::ThingLine> const& things);

/// What falls due from everything, and the last days of fallbacks; soonest first.
Result<std::vector<visit::Due>> due(store::Store const& store, Date on, std::int64_t within_days);
Json due_json(std::vector<visit::Due> const& due);
std::string due_text(std::vector<visit::Due> const& due, std::int64_t within_days);

}  // namespace gw::desk
