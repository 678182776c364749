#pragma once
/// What the visits in the store say of one analyser over the years.
#include <string>

#include "desk/history.hpp"
#include "store/store.hpp"

namespace gw::desk {

/// A row for each moment at which a visit established something: findings as found and as left (at
/// the last run of that basis), factors and retention of the calibrations that were kept (at the
/// moment they were kept). A module that went in is a break. Visits that cannot be read are
/// warned of. Fails with not_found when the store knows no such analyser.
Result<History> analyser_history(store::Store const& store, std::string const& analyser);

}  // namespace gw::desk
