#pragma once
/// Least squares for a curve that bends with its parameters, by damped Gauss-Newton steps
/// (Levenberg 1944, Marquardt 1963) with derivatives by central differences.
#include <functional>
#include <span>
#include <vector>

#include "base/matrix.hpp"
#include "base/result.hpp"

namespace gw::metrology {

/// y at x for the parameters b.
using Curve = std::function<double(double x, std::span<double const> b)>;

struct CurveFit {
    std::vector<double> b;
    SquareMatrix V;        ///< covariance of b, scatter taken from the residuals
    double rss{};          ///< sum of squares of the residuals
    double residual_sd{};  ///< sqrt(rss / (n - p))
    int iterations = 0;
    bool converged = false;  ///< steps no longer change a parameter by 1e-10 of itself
};
/// From `start`. Fails with fewer points than parameters and one, and where the curve is not finite
/// at the start. Scales of the parameters may differ by many orders.
Result<CurveFit> fit_curve(Curve const& curve,
                           std::span<double const> x,
                           std::span<double const> y,
                           std::vector<double> start);

}  // namespace gw::metrology
