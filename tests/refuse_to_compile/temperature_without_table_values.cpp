// ISO 6976 has table values for some temperatures only: any other is no reference.
#include "gas/iso6976.hpp"

#ifdef GW_CORRECT
gw::gas::Iso6976Options const at{.combustion = gw::gas::CombustionTemperature::c25};
#else
gw::gas::Iso6976Options const at{.combustion = gw::celsius(18)};
#endif
