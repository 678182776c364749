// A pressure is no temperature.
#include "base/quantity.hpp"

double above_freezing(gw::Temperature t) { return gw::in_celsius(t); }

#ifdef GW_CORRECT
double const answer = above_freezing(gw::kelvin(300));
#else
double const answer = above_freezing(gw::kilopascal(300));
#endif
