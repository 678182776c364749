#pragma once
/// How every act on a visit is written: read, decide, append, and decide again when somebody else
/// was quicker. Private to the files that write in a visit.
#include <functional>
#include <string>

#include "desk/visit.hpp"

namespace gw::desk {

inline constexpr int most_tries = 20;  ///< of an append that others were quicker at

/// What is to be written, on the visit as it was read. Called again when it has grown meanwhile.
using Decide = std::function<Result<store::Append>(LoadedVisit const&)>;

/// Refuses with conflict at "seen" when the act names what was seen and more has come since. The
/// entry that is answered is the last one of what `decide` gives.
Result<Recorded> record(store::Store& store,
                        std::string const& id,
                        std::string const& step,
                        visit::Act const& act,
                        Decide const& decide);

/// A decision for one entry alone.
Decide one(std::function<Result<visit::NewEntry>(LoadedVisit const&)> act);

}  // namespace gw::desk
