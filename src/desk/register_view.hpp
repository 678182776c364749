#pragma once
/// Everything that the store knows of analysers, modules, cylinders and the rest, as one page shows
/// it: what stands where, what is due, what each cylinder is good for today.
#include <string>

#include "base/json.hpp"
#include "base/time.hpp"
#include "store/store.hpp"

namespace gw::desk {

/// {"on", "analysers": [{"id", "fields", "visits", "module"}], "modules": [{"id", "fields",
/// "events"}], "cylinders": [{"id", "role", "findings", "verdict", "fields", "readings", "lasts"}],
/// "others": [{"kind", "id", "fields"}], "due": [{"thing", "what", "day", "days_left"}]}. fields:
/// what is known, in words, [{"name", "value"}]. findings: of `cylinder check` for the custody
/// criteria on that day; lasts: days to its least pressure by the fall of its readings
/// (`bench::stock_trend`); none of both when the certificate is not known well enough.
Result<Json> register_json(store::Store const& store, Date on, std::int64_t within_days);

}  // namespace gw::desk
