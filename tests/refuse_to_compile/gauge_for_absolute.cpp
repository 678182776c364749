// A gauge pressure becomes absolute only with the ambient pressure beside it.
#include "base/quantity.hpp"

double in_bar(gw::Pressure p) { return gw::in_kilopascal(p) / 100; }

#ifdef GW_CORRECT
double const answer = in_bar(gw::absolute(gw::gauge_kilopascal(300), gw::kilopascal(98)));
#else
double const answer = in_bar(gw::gauge_kilopascal(300));
#endif
