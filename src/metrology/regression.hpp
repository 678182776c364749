#pragma once
/// Straight lines and polynomials through measured points: ordinary, weighted, and generalised
/// least squares with errors in both axes and covariance. Sources: ISO/TS 28037:2010 (lines), ISO
/// 6143:2001 (response functions, goodness of fit), York et al. 2004 (uncertainty at the adjusted
/// points).
#include <cstddef>
#include <span>
#include <vector>

#include "base/matrix.hpp"
#include "base/quantity.hpp"
#include "base/result.hpp"

namespace gw::metrology {

/// sum of c_z t^(first + z) with t = (x - centre) / scale: a cubic in x itself loses half its
/// digits.
struct Polynomial {
    double centre = 0, scale = 1;
    std::size_t first = 0;  ///< 1: through zero (centre is 0 then)
    std::vector<double> c;  ///< ascending

    [[nodiscard]] double operator()(double x) const;
    [[nodiscard]] double slope(double x) const;
    /// The powers of t that the coefficients multiply, at x.
    [[nodiscard]] std::vector<double> basis(double x) const;
    /// Coefficients of x^0, x^1, ...; x^0 is there and 0 when `first` is 1.
    [[nodiscard]] std::vector<double> in_x() const;
};

struct ResponseFit {
    Polynomial f;
    SquareMatrix V;  ///< covariance of f.c
    double chi_squared{};
    int degrees_of_freedom{};
    /// ISO 6143: largest |x - xi|/u(x) or |y - F(xi)|/u(y) over the points; 0 where u is 0.
    double gamma{};
    double residual_sd{};  ///< sqrt(RSS / degrees of freedom) of an unweighted fit, unit of y
    double r_squared{};    ///< of an unweighted fit; without the mean when through zero
    std::vector<double> adjusted_x;  ///< where each point lies on the curve
    bool converged = true;
    int iterations = 0;

    [[nodiscard]] std::vector<double> coefficients() const { return f.in_x(); }
    [[nodiscard]] SquareMatrix covariance() const;  ///< of coefficients()
};

struct FitShape {
    std::size_t order = 1;
    bool through_zero = false;
};

/// u_y: empty: equal and unknown, taken from the residuals (ISO/TS 28037 annex E); else the
/// standard uncertainty of each y, and the covariance follows from them alone. Solved by QR in a
/// centred and scaled variable. Fails with fewer points than coefficients, or when x does not tell
/// them apart.
Result<ResponseFit> fit_polynomial(std::span<double const> x,
                                   std::span<double const> y,
                                   std::span<double const> u_y,
                                   FitShape const& shape);

/// Points with uncertainty in both axes. Vx, Vy: covariances; an empty one means exact.
struct ResponsePoints {
    std::vector<double> x, y;
    SquareMatrix Vx, Vy;
};
/// Minimises (x - xi)' Vx^-1 (x - xi) + (y - F(xi))' Vy^-1 (y - F(xi)) by Gauss-Newton steps on the
/// adjusted points; covariance at the adjusted points. A point exact in both axes gets a relative
/// u of 1e-9 of the largest y. Cost: one Cholesky factor of the number of points a step.
Result<ResponseFit> fit_response(ResponsePoints const& points, FitShape const& shape);

/// y at x: u from the coefficients and from u(x).
Measured forward(ResponseFit const& fit, Measured x);
/// x at y, by Newton's steps from `start`; fails where the curve is flat or does not reach y.
Result<Measured> inverse(ResponseFit const& fit, Measured y, double start);

}  // namespace gw::metrology
