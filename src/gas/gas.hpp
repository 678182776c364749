#pragma once
/// gas: what a natural gas of known composition is worth and weighs.
/// Start from: read_composition (composition.hpp), iso6976 (iso6976.hpp), find_component (component.hpp).
/// Sources: ISO 6976:2016 for calorific values, density and Wobbe index with uncertainty; ISO 6974-2
/// for normalisation. Tables: data/gas/iso6976_2016.json, data/gas/component_names.json.
/// Later neighbours: GPA 2172, AGA 8 DETAIL, GERG-2008, cubic equations, dew points.
#include "gas/component.hpp"
#include "gas/composition.hpp"
#include "gas/gpa2172.hpp"
#include "gas/iso6976.hpp"
#include "gas/reference.hpp"
