#pragma once
/// metrology: from a number to a verdict one can defend.
/// Start from: Finding and judge (finding.hpp), CriteriaSet (criteria.hpp), grubbs and
/// coverage_factor (statistics.hpp), fit_response (regression.hpp), monte_carlo (monte_carlo.hpp),
/// approach (settling.hpp), control_chart (control_chart.hpp) and find_change (change_point.hpp),
/// limits for a chosen rate of false alarms (run_length.hpp). Sources: JCGM 100
/// (GUM) and 101 (Monte Carlo), JCGM 106 (decision rules), ISO 5725-2 and -6 (outliers, precision),
/// ISO 6143 and ISO/TS 28037 (curves), ISO 7870 (charts).
#include "metrology/change_point.hpp"
#include "metrology/control_chart.hpp"
#include "metrology/criteria.hpp"
#include "metrology/curve_fit.hpp"
#include "metrology/finding.hpp"
#include "metrology/monte_carlo.hpp"
#include "metrology/precision.hpp"
#include "metrology/regression.hpp"
#include "metrology/run_length.hpp"
#include "metrology/settling.hpp"
#include "metrology/statistics.hpp"
