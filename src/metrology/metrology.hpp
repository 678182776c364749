#pragma once
/// metrology: from a number to a verdict one can defend.
/// Start from: Finding and judge (finding.hpp), CriteriaSet (criteria.hpp), grubbs and
/// coverage_factor (statistics.hpp). Sources: JCGM 100 (GUM), JCGM 106 (decision rules), ISO 5725-2
/// and -6 (outliers, precision).
#include "metrology/criteria.hpp"
#include "metrology/finding.hpp"
#include "metrology/statistics.hpp"
