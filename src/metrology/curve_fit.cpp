#include "metrology/curve_fit.hpp"

#include <Eigen/Cholesky>
#include <Eigen/QR>
#include <cmath>

namespace gw::metrology {

namespace {

Eigen::VectorXd residuals(Curve const& curve,
                          std::span<double const> x,
                          std::span<double const> y,
                          std::vector<double> const& b) {
    Eigen::VectorXd out(static_cast<Eigen::Index>(x.size()));
    for (std::size_t i = 0; i < x.size(); ++i)
        out(static_cast<Eigen::Index>(i)) = y[i] - curve(x[i], b);
    return out;
}

// Derivatives to the logarithm-like scale b_k: columns of like size whatever the units.
Eigen::MatrixXd jacobian(Curve const& curve,
                         std::span<double const> x,
                         std::vector<double> const& b,
                         std::vector<double> const& scale) {
    Eigen::MatrixXd out(static_cast<Eigen::Index>(x.size()), static_cast<Eigen::Index>(b.size()));
    for (std::size_t k = 0; k < b.size(); ++k) {
        double const h = 6e-6 * scale[k];  // cube root of the rounding: central differences
        auto up = b, down = b;
        up[k] += h;
        down[k] -= h;
        for (std::size_t i = 0; i < x.size(); ++i)
            out(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(k)) =
                (curve(x[i], up) - curve(x[i], down)) / (up[k] - down[k]) * scale[k];
    }
    return out;
}

std::vector<double> scales(std::vector<double> const& b) {
    std::vector<double> out;
    for (double const each : b) out.push_back(each != 0 ? std::abs(each) : 1.0);
    return out;
}

}  // namespace

Result<CurveFit> fit_curve(Curve const& curve,
                           std::span<double const> x,
                           std::span<double const> y,
                           std::vector<double> start) {
    std::size_t const n = x.size(), p = start.size();
    if (n != y.size() || n < p + 1)
        return fail(Errc::bad_input,
                    "A curve needs one point more than it has parameters.",
                    "points",
                    "measure more");
    CurveFit out;
    out.b = std::move(start);
    auto r = residuals(curve, x, y, out.b);
    if (!r.allFinite())
        return fail(Errc::bad_input, "The curve has no value at the start.", "start");
    double damping = 1e-3;
    constexpr int most = 500;
    for (; out.iterations < most && !out.converged; ++out.iterations) {
        auto const scale = scales(out.b);
        auto const J = jacobian(curve, x, out.b, scale);
        Eigen::MatrixXd normal = J.transpose() * J;
        Eigen::VectorXd const right = J.transpose() * r;
        Eigen::MatrixXd damped = normal;
        damped.diagonal() *= 1 + damping;
        Eigen::VectorXd const step = damped.ldlt().solve(right);
        if (!step.allFinite()) break;
        auto next = out.b;
        double change = 0;
        for (std::size_t k = 0; k < p; ++k) {
            double const d = step(static_cast<Eigen::Index>(k));
            next[k] += d * scale[k];
            change = std::max(change, std::abs(d));
        }
        auto const after = residuals(curve, x, y, next);
        if (after.allFinite() && after.squaredNorm() <= r.squaredNorm()) {
            out.b = std::move(next);
            r = after;
            damping = std::max(damping / 10, 1e-12);
            out.converged = change < 1e-10;
        } else {
            out.converged = change < 1e-10;  // no better point is left to find
            damping *= 10;
        }
    }
    out.rss = r.squaredNorm();
    out.residual_sd = std::sqrt(out.rss / static_cast<double>(n - p));
    auto const scale = scales(out.b);
    auto const J = jacobian(curve, x, out.b, scale);
    Eigen::MatrixXd const inverse =
        (J.transpose() * J)
            .ldlt()
            .solve(Eigen::MatrixXd::Identity(static_cast<Eigen::Index>(p),
                                             static_cast<Eigen::Index>(p)));
    out.V = SquareMatrix(p);
    for (std::size_t a = 0; a < p; ++a)
        for (std::size_t b = 0; b < p; ++b)
            out.V(a, b) = out.residual_sd * out.residual_sd * scale[a] * scale[b] *
                          inverse(static_cast<Eigen::Index>(a), static_cast<Eigen::Index>(b));
    return out;
}

}  // namespace gw::metrology
