#pragma once
/// gas: what a natural gas of known composition is worth and weighs.
/// Start from: read_composition (composition.hpp), properties_of (reference.hpp: ISO 6976 or GPA
/// 2172), fluid_state (equation_of_state.hpp: GERG-2008 or AGA 8 DETAIL), phase_envelope (dew
/// points by Peng-Robinson or Soave-Redlich-Kwong), phase_stability. Sources: ISO 6976:2016, GPA
/// 2172 with GPA 2145-16, Kunz and Wagner (2012), AGA Report No. 8, Peng and Robinson, Soave,
/// Michelsen; ISO 6974-2 for normalisation. Tables: data/gas.
#include "gas/component.hpp"
#include "gas/composition.hpp"
#include "gas/cubic.hpp"
#include "gas/equation_of_state.hpp"
#include "gas/gpa2172.hpp"
#include "gas/iso6976.hpp"
#include "gas/phase_envelope.hpp"
#include "gas/phase_stability.hpp"
#include "gas/reference.hpp"
#include "gas/throttling.hpp"
#include "gas/water_dew_point.hpp"
