#pragma once
/// Outliers and precision of repeated results in groups: ISO 5725-2.
#include <cstddef>
#include <span>
#include <string>
#include <vector>

namespace gw::metrology {

/// Grubbs' test for two outliers on one side, ISO 5725-2:1994 7.3.4.2: G = SS of the rest / SS of
/// all; small G is suspicious. Critical values by simulation with a fixed seed (the published table
/// is one such); needs 4 values.
struct DoubleGrubbs {
    double high{}, low{};               ///< statistic of the two largest, of the two smallest
    double critical_5{}, critical_1{};  ///< lower critical values
    bool straggler = false, outlier = false;
    bool of_the_high = false;  ///< which pair
};
DoubleGrubbs double_grubbs(std::span<double const> values);
/// The critical value of that statistic, alpha over both sides together. n from 4 to 60; outside:
/// 0.
double double_grubbs_critical(std::size_t n, double alpha);

/// Cochran's test on group variances: C = largest / sum.
struct Cochran {
    double statistic{};
    std::size_t index{};
    double critical_5{}, critical_1{};
    bool straggler = false, outlier = false;
};
/// Groups of equal size, or nearly: critical values at the mean size.
Cochran cochran(std::vector<std::vector<double>> const& groups);

enum class Standing { accepted, straggler, outlier };
struct Judged {
    Standing standing = Standing::accepted;
    std::string reason;  ///< for people; empty when accepted
};
/// What the tests say of every value of one series: single, then double Grubbs. Nothing is taken
/// out. Fewer than 4 values: all accepted, for three cannot show an outlier: their statistic never
/// passes its limit.
std::vector<Judged> judged(std::span<double const> values);

/// Repeatability and reproducibility of one level, ISO 5725-2 7.4: groups (laboratories, days,
/// cylinders) of results.
struct Precision {
    double mean{};
    double s_r{};      ///< repeatability standard deviation
    double s_L{};      ///< between groups
    double s_R{};      ///< reproducibility; never below s_r
    double s_means{};  ///< of the group means
    double r{}, R{};   ///< 2.8 s: limits of the difference of two results
};
Precision precision(std::vector<std::vector<double>> const& groups);

/// Lag-1 autocorrelation about the mean.
double lag1_correlation(std::span<double const> values);

/// Runs needed so that k s / sqrt(n), with k for n - 1 degrees of freedom, stays within `wanted`
/// beside a fixed part u: k sqrt(u^2 + s^2/n) <= wanted. 0 when no number of runs does it.
std::size_t runs_needed(double s, double u_fixed, double wanted, double k, std::size_t most = 200);

}  // namespace gw::metrology
