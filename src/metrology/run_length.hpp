#pragma once
/// Average run lengths of control charts: how many points pass, on average, until a chart signals.
/// In control that is the price (false alarms), after a shift the speed. Observations are normal
/// and independent, in units of their standard deviation. Sources of the equations: Page 1954
/// (CUSUM), Crowder 1987 (EWMA), Lucas and Crosier 1982 (two sides, head start), Champ and Woodall
/// 1987 (rules added to the individuals chart).
#include <cstddef>

namespace gw::metrology {

/// One point outside mean +- L.
double shewhart_run_length(double L, double shift);

/// One-sided: C = max(0, C + z - k), signal when C > h. The integral equation is solved on
/// Gauss-Legendre nodes, about six a standard deviation; its error is below 1e-6 of the answer for
/// h up to 20. start: value of C before the first point, from 0 to h.
double cusum_run_length(double k, double h, double shift, double start = 0);
/// Both sides at once, both begun at `start`.
double cusum_two_sided_run_length(double k, double h, double shift, double start = 0);

/// Two-sided with limits +- L sqrt(lambda / (2 - lambda)), begun at the mean.
double ewma_run_length(double lambda, double L, double shift);

/// The individuals chart with further rules.
struct RunRules {
    bool two_of_three = false;  ///< beyond 2 standard deviations on one side
    bool four_of_five = false;  ///< beyond 1 standard deviation on one side
    bool eight_in_row = false;  ///< on one side
};
/// A point beyond 3, or any of the added rules: the chain of what the last points were is solved
/// exactly.
double run_rules_run_length(RunRules const& rules, double shift);

/// The limit that gives the wanted run length in control, by bisection: h of the two-sided CUSUM,
/// L of the EWMA and of the individuals chart. run_length: 2 to 1e7, cut to that.
double cusum_limit(double k, double run_length);
double ewma_limit(double lambda, double run_length);
double shewhart_limit(double run_length);

}  // namespace gw::metrology
