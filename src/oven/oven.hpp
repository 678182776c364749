#pragma once
/// oven: the twin of an oven module. Columns, valves and detectors as the method file describes
/// them; what a run of it looks like; which times its events should have. Start from: read_oven
/// (model.hpp), simulate (simulate.hpp), retime (retime.hpp), fit (fit.hpp). Sources: convection
/// with dispersion between closed ends (Levenspiel and Smith 1957; van der Laan 1958), compressible
/// flow (James and Martin 1952), relative molar responses (Dietz 1967); the scheme and its
/// convergence: docs/oven.md.
#include "oven/fault.hpp"
#include "oven/fit.hpp"
#include "oven/model.hpp"
#include "oven/retime.hpp"
#include "oven/simulate.hpp"
