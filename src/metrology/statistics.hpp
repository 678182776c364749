#pragma once
/// Small-sample statistics of repeated runs.
#include <cstddef>
#include <span>
#include <vector>

#include "base/quantity.hpp"
#include "base/result.hpp"

namespace gw::metrology {

double mean(std::span<double const> values);                ///< two passes; 0 values: 0
double standard_deviation(std::span<double const> values);  ///< n - 1; fewer than 2 values: 0
double median(std::vector<double> values);                  ///< 0 values: 0

// Quantiles: probability inside (0, 1), degrees of freedom above 0 (whole or not); else NaN.
double student_t(double probability, double degrees_of_freedom);
double f_quantile(double probability, double numerator_df, double denominator_df);
double chi_squared_quantile(double probability, double degrees_of_freedom);
double normal_quantile(double probability);

/// Coverage factor for `k` (2 means 95.45 %) at finite degrees of freedom (GUM G.3.2); 0 or
/// infinite degrees of freedom give k itself.
double coverage_factor(double k, double degrees_of_freedom);
/// Welch-Satterthwaite, GUM G.4.1. u: standard uncertainties; df: their degrees of freedom (0 =
/// infinite). Answers 0 for infinite.
double effective_degrees_of_freedom(std::span<double const> u, std::span<double const> df);

/// E_n = (x - reference) / sqrt(U_x^2 + U_reference^2), ISO 13528: within 1 the two are consistent.
/// It grows easier with a worse reference, so it never shows conformity.
double normalised_error(double x, double U_x, double reference, double U_reference);

/// Grubbs' test for one outlier, ISO 5725-2:1994 7.3.4; critical values two-sided as in its
/// Table 5. As there, a value is a straggler or an outlier, never both.
struct Grubbs {
    double statistic{};   ///< |extreme - mean| / s
    std::size_t index{};  ///< which value
    double critical_5{};  ///< 5 %: a straggler beyond it
    double critical_1{};  ///< 1 %: an outlier beyond it
    bool straggler = false, outlier = false;
};
/// Needs at least 3 values and a positive standard deviation, else nothing is flagged.
Grubbs grubbs(std::span<double const> values);
/// t at alpha/(2n) (two-sided) or alpha/n (one-sided) with n - 2 degrees of freedom. Below 3
/// values: infinite.
double grubbs_critical(std::size_t n, double alpha, bool two_sided);
/// Cochran's critical value for `groups` variances of `n` results each (ISO 5725-2 Table 4). Fewer
/// than two groups or results: 1, which no statistic exceeds.
double cochran_critical(std::size_t groups, std::size_t n, double alpha);
/// Critical range factor f(n) of ISO 5725-6: the range of n results is at most f(n) sigma_r with
/// probability 95 %. Fewer than 2 results: 0.
double critical_range_factor(std::size_t n);

}  // namespace gw::metrology
