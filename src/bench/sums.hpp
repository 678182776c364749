#pragma once
/// The tables of the sums, by what they are about. Private to the folder.
#include "bench/sum.hpp"

namespace gw::bench {

std::span<SumKind const> flow_sums();   ///< leak, purge, lag, shelter
std::span<SumKind const> stock_sums();  ///< carrier, cylinder, storage, line
std::span<SumKind const> plan_sums();   ///< outage, spares

}  // namespace gw::bench
