#pragma once
/// Control charts for a reading that should stay: individuals with moving range, EWMA and CUSUM,
/// with the average run lengths that say how often they cry wolf. Sources: ISO 7870-2, -4, -6;
/// Lucas and Crosier 1982; Lucas and Saccucci 1990; Crowder 1987.
#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "base/result.hpp"

namespace gw::metrology {

double c4(std::size_t n);  ///< E(s) / sigma of n normal values; NaN below 2
double d2(std::size_t n);  ///< E(range) / sigma of n normal values; NaN below 2

/// Centre and sigma of a reference stretch.
struct ChartBase {
    double centre{}, sigma{};
    std::size_t n = 0;
};
/// Mean, and the mean moving range over d2(2) = 1.128. Fewer than 2 values: sigma 0.
ChartBase individuals_base(std::span<double const> values);

struct EwmaPoint {
    double z{}, low{}, high{};
    bool outside = false;
};
/// z_t = lambda y_t + (1 - lambda) z_(t-1) from the centre, limits with the exact variance at t.
std::vector<EwmaPoint> ewma(std::span<double const> y,
                            ChartBase const& base,
                            double lambda,
                            double L);

struct CusumPoint {
    double high{}, low{};               ///< C+ and C-, unit of y
    std::size_t run_high{}, run_low{};  ///< points since each was zero
    bool outside = false;
};
/// K and H in the unit of y. Two-sided, zero start.
std::vector<CusumPoint> cusum(std::span<double const> y, double centre, double K, double H);

// Average run lengths from the first point on; shift in sigma.
double shewhart_run_length(double limit, double shift);
/// k, h, head start in sigma; the two sides joined by 1/ARL = 1/ARL+ + 1/ARL-. By Gauss-Legendre
/// quadrature of the integral equation (Goel and Wu 1971, with the mass at zero kept apart).
double cusum_run_length_one_sided(double k, double h, double shift, double head_start = 0);
double cusum_run_length(double k, double h, double shift, double head_start = 0);
/// Two-sided, limits with the asymptotic variance, as the published tables (Crowder 1987).
double ewma_run_length(double lambda, double L, double shift);

/// Runs rules of Champ and Woodall 1987, Markov chain over the last readings' zones.
enum class RunRule { three_sigma, and_two_of_three, and_four_of_five, and_eight_in_a_row };
double run_rules_run_length(RunRule rule, double shift);

/// The limit that gives the wanted run length without a shift: h for k, or L for lambda.
/// run_length from 5 to 1e6.
Result<double> cusum_limit_for(double k, double run_length);
Result<double> ewma_limit_for(double lambda, double run_length);

/// When a reading began to drift or jumped: piecewise constant or constant-then-line by least
/// squares over every possible date; interval by likelihood ratio against F (95 %).
enum class Change { none, step, drift };
struct ChangePoint {
    Change change = Change::none;
    double at{}, from{}, to{};  ///< time of onset and its 95 % interval
    double before{}, after{};   ///< step: levels; drift: level before and at the last reading
    double u_after{};           ///< standard uncertainty of after - before
    double rate = 0;            ///< of a drift, per unit of time
    double sigma = 0;           ///< residual scatter
    double p_value = 1;         ///< of no change at all, corrected for having tried every date
};
/// t: rising. Needs at least 8 readings, 3 on either side of the onset; fewer: none.
ChangePoint change_point(std::span<double const> t, std::span<double const> y);

}  // namespace gw::metrology
