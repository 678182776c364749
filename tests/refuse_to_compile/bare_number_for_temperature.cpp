// A bare number does not say whether it is in kelvin or in degrees Celsius.
#include "base/quantity.hpp"

double above_freezing(gw::Temperature t) { return gw::in_celsius(t); }

#ifdef GW_CORRECT
double const answer = above_freezing(gw::celsius(15));
#else
double const answer = above_freezing(15.0);
#endif
