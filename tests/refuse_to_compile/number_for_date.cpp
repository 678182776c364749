// A count of days is no date until somebody says so.
#include "base/time.hpp"

std::string printed(gw::Date day) { return gw::to_text(day); }

#ifdef GW_CORRECT
std::string const answer = printed(gw::Date{20500});
#else
std::string const answer = printed(20500);
#endif
