#pragma once
/// How many spare modules to hold, and what their lives so far say.
#include <span>
#include <vector>

#include "base/quantity.hpp"
#include "base/result.hpp"

namespace gw::bench {

/// P(X <= most) of a Poisson law.
double poisson_at_most(double mean, int most);

struct SpareStock {
    double demand{};  ///< expected in the lead time
    int stock{};      ///< the least that serves with the wanted probability
    double served{};  ///< P(demand <= stock)
};
/// units in service, mean time between failures and lead time in the same unit; service in (0, 1).
Result<SpareStock> spare_stock(double units, double mtbf, double lead_time, double service);

struct Life {
    double time{};
    bool failed = false;  ///< false: still running, or taken out for another reason
};
/// Product-limit estimate (Kaplan and Meier 1958) with Greenwood's standard error.
struct SurvivalStep {
    double time{}, survival{}, u{};
    int at_risk{}, failures{};
};
Result<std::vector<SurvivalStep>> survival(std::vector<Life> lives);

/// Weibull law by maximum likelihood with lives that have not ended (NIST/SEMATECH e-Handbook
/// 8.4.1.3). Shape about 1: random; below: faults of fitting; above: wear.
struct WeibullFit {
    double shape{}, scale{}, mean{}, sd{};
};
Result<WeibullFit> weibull(std::vector<Life> const& lives);

}  // namespace gw::bench
