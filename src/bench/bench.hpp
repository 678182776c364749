#pragma once
/// bench: sums of the workshop and the office, each with its formula and source.
/// Start from: misstatement (misstatement.hpp).
#include "bench/misstatement.hpp"
