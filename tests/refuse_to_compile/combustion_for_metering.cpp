// The combustion and the metering reference temperature are not to be swapped.
#include "gas/iso6976.hpp"

using gw::gas::CombustionTemperature, gw::gas::MeteringTemperature;

#ifdef GW_CORRECT
gw::gas::Iso6976Options const at{
    CombustionTemperature::c25, MeteringTemperature::c0, gw::kilopascal(101.325)};
#else
gw::gas::Iso6976Options const at{
    MeteringTemperature::c0, CombustionTemperature::c25, gw::kilopascal(101.325)};
#endif
