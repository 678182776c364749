// A temperature becomes a number only through a function that names the unit.
#include "base/quantity.hpp"

gw::Temperature const outside = gw::celsius(15);

#ifdef GW_CORRECT
double const answer = gw::in_celsius(outside);
#else
double const answer = outside;
#endif
