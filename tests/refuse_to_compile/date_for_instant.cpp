// A day is no moment: the time and the offset are missing.
#include "base/time.hpp"

#ifdef GW_CORRECT
std::int64_t const answer = gw::days_between(gw::Date{1}, gw::date_of(gw::Instant{86'400'000, 0}));
#else
std::int64_t const answer = gw::days_between(gw::Date{1}, gw::Instant{86'400'000, 0});
#endif
