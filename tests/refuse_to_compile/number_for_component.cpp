// A component is known by its name, never by a number.
#include "gas/component.hpp"

#ifdef GW_CORRECT
auto const answer = gw::gas::carbon_number(gw::gas::c6_plus);
#else
auto const answer = gw::gas::carbon_number(6);
#endif
