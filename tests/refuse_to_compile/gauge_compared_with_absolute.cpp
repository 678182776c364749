// Whether a gauge pressure is above an absolute one cannot be asked.
#include "base/quantity.hpp"

#ifdef GW_CORRECT
bool const answer = gw::kilopascal(300) > gw::kilopascal(200);
#else
bool const answer = gw::gauge_kilopascal(300) > gw::kilopascal(200);
#endif
