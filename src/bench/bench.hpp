#pragma once
/// bench: the sums of the workshop and the office.
/// Start from: leak_rate (leak.hpp), sample_lag (lag.hpp), endurance (endurance.hpp); misstatement
/// (misstatement.hpp); or by name from a file or typed words: find_sum and read_sum_inputs
/// (sum.hpp). Each header names its formula and source.
#include "bench/condensation.hpp"
#include "bench/endurance.hpp"
#include "bench/lag.hpp"
#include "bench/leak.hpp"
#include "bench/misstatement.hpp"
#include "bench/outage.hpp"
#include "bench/purge.hpp"
#include "bench/shelter.hpp"
#include "bench/spares.hpp"
#include "bench/sum.hpp"
