#pragma once
/// What a step says of a module goes into the module's own passport. Private to the files that
/// write in a visit.
#include <optional>
#include <string>

#include "desk/visit.hpp"

namespace gw::desk {

/// A module's passport tells where it went in and came out; none for a step that is not about one.
/// `undone`: the entry that said so was taken back; the passport keeps both.
std::optional<visit::NewEntry> passport_event(LoadedVisit const& loaded,
                                              std::string const& step_name,
                                              std::string const& serial,
                                              bool undone,
                                              visit::Act const& act);

}  // namespace gw::desk
