// A value is taken out of a Result only after a look at whether there is one.
#include "base/time.hpp"

#ifdef GW_CORRECT
gw::Date const day = gw::parse_date("2026-03-02", "--on").value_or(gw::Date{});
#else
gw::Date const day = gw::parse_date("2026-03-02", "--on");
#endif
