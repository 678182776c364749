#pragma once
/// visit: what a call to site has to show, and the verdicts over it.
/// Start from: look (look.hpp) for a first answer from one printed report, prove (prove.hpp) for
/// the evidence that an analyser reads right, settle (settle.hpp) for whether it has come to rest,
/// charts (chart.hpp) for its life. Limits are data: metrology's criteria sets. Sources:
/// 43 CFR 3175 (federal leases), OIML R 140, common practice; named with each limit.
#include "visit/chart.hpp"
#include "visit/look.hpp"
#include "visit/prove.hpp"
#include "visit/settle.hpp"
