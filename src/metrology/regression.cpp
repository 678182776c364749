#include "metrology/regression.hpp"

#include <fmt/format.h>

#include <Eigen/Cholesky>
#include <Eigen/QR>
#include <algorithm>
#include <cmath>

namespace gw::metrology {

namespace {

using Eigen::Index;
using Matrix = Eigen::MatrixXd;
using Vector = Eigen::VectorXd;

std::size_t count_of(FitShape const& shape) { return shape.order + (shape.through_zero ? 0 : 1); }

Result<Polynomial> basis_for(std::span<double const> x, FitShape const& shape) {
    Polynomial f;
    f.first = shape.through_zero ? 1 : 0;
    auto const [low, high] = std::minmax_element(x.begin(), x.end());
    std::vector<double> distinct(x.begin(), x.end());
    std::sort(distinct.begin(), distinct.end());
    distinct.erase(std::unique(distinct.begin(), distinct.end()), distinct.end());
    if (shape.through_zero)
        distinct.erase(std::remove(distinct.begin(), distinct.end(), 0.0), distinct.end());
    if (distinct.size() < count_of(shape))
        return fail(Errc::out_of_range,
                    fmt::format("{} different amounts do not tell {} coefficients apart.",
                                distinct.size(),
                                count_of(shape)),
                    "points",
                    "take a lower order or more points");
    if (shape.through_zero) {
        f.scale = std::max(std::abs(*low), std::abs(*high));
    } else {
        f.centre = 0.5 * (*low + *high);
        f.scale = shape.order > 0 ? 0.5 * (*high - *low) : 1.0;
    }
    f.c.assign(count_of(shape), 0.0);
    return f;
}

Matrix design(Polynomial const& f, std::span<double const> x) {
    Matrix A(static_cast<Index>(x.size()), static_cast<Index>(f.c.size()));
    for (std::size_t i = 0; i < x.size(); ++i) {
        auto const row = f.basis(x[i]);
        for (std::size_t j = 0; j < row.size(); ++j)
            A(static_cast<Index>(i), static_cast<Index>(j)) = row[j];
    }
    return A;
}

SquareMatrix square(Matrix const& m) {
    SquareMatrix out(static_cast<std::size_t>(m.rows()));
    for (Index i = 0; i < m.rows(); ++i)
        for (Index j = 0; j < m.cols(); ++j)
            out(static_cast<std::size_t>(i), static_cast<std::size_t>(j)) =
                0.5 * (m(i, j) + m(j, i));
    return out;
}

Matrix dense(SquareMatrix const& m, Index n) {
    Matrix out = Matrix::Zero(n, n);
    if (m.empty()) return out;
    for (Index i = 0; i < n; ++i)
        for (Index j = 0; j < n; ++j)
            out(i, j) = m(static_cast<std::size_t>(i), static_cast<std::size_t>(j));
    return out;
}

}  // namespace

std::vector<double> Polynomial::basis(double x) const {
    double const t = (x - centre) / scale;
    std::vector<double> out(c.size());
    double power = first == 1 ? t : 1.0;
    for (double& term : out) {
        term = power;
        power *= t;
    }
    return out;
}

double Polynomial::operator()(double x) const {
    double const t = (x - centre) / scale;
    double y = 0;
    for (std::size_t z = c.size(); z-- > 0;) y = y * t + c[z];
    return first == 1 ? y * t : y;
}

double Polynomial::slope(double x) const {
    double const t = (x - centre) / scale;
    double y = 0;
    for (std::size_t z = c.size(); z-- > 0;) {
        auto const power = static_cast<double>(z + first);
        if (power == 0) continue;
        y = y * t + power * c[z];
    }
    return y / scale;
}

namespace {

// Row p of the answer: coefficient of x^p as a linear form of the scaled coefficients.
std::vector<double> to_powers_of_x(Polynomial const& f) {
    std::size_t const rows = f.c.size() + f.first, columns = f.c.size();
    std::vector<double> T(rows * columns, 0.0);
    for (std::size_t z = 0; z < columns; ++z) {
        std::size_t const power = z + f.first;  // ((x - centre)/scale)^power, by the binomial law
        double binomial = 1;
        for (std::size_t p = 0; p <= power; ++p) {
            T[p * columns + z] = binomial * std::pow(-f.centre, static_cast<double>(power - p)) /
                                 std::pow(f.scale, static_cast<double>(power));
            binomial *= static_cast<double>(power - p) / static_cast<double>(p + 1);
        }
    }
    return T;
}

}  // namespace

std::vector<double> Polynomial::in_x() const {
    auto const T = to_powers_of_x(*this);
    std::vector<double> out(c.size() + first, 0.0);
    for (std::size_t p = 0; p < out.size(); ++p)
        for (std::size_t z = 0; z < c.size(); ++z) out[p] += T[p * c.size() + z] * c[z];
    return out;
}

SquareMatrix ResponseFit::covariance() const {
    return congruence(to_powers_of_x(f), f.c.size() + f.first, V);
}

Result<ResponseFit> fit_polynomial(std::span<double const> x,
                                   std::span<double const> y,
                                   std::span<double const> u_y,
                                   FitShape const& shape) {
    if (x.empty() || x.size() != y.size() || (!u_y.empty() && u_y.size() != x.size()))
        return fail(Errc::bad_input, "Points need an x and a y each.", "points");
    for (double const u : u_y)
        if (!(u > 0)) return fail(Errc::bad_input, "A weight needs u above zero.", "points");
    ResponseFit out;
    GW_TRY(out.f, basis_for(x, shape));
    auto const n = static_cast<Index>(x.size());
    Matrix A = design(out.f, x);
    Vector b(n);
    for (Index i = 0; i < n; ++i) {
        double const w = u_y.empty() ? 1.0 : 1.0 / u_y[static_cast<std::size_t>(i)];
        A.row(i) *= w;
        b(i) = w * y[static_cast<std::size_t>(i)];
    }
    Eigen::HouseholderQR<Matrix> const qr(A);
    Vector c = qr.solve(b);
    c += qr.solve(b - A * c);  // one step of refinement wins the last digits
    Vector const residual = b - A * c;
    out.f.c.assign(c.data(), c.data() + c.size());
    double const rss = residual.squaredNorm();
    out.degrees_of_freedom = static_cast<int>(n - c.size());
    out.chi_squared = rss;
    Matrix const R = qr.matrixQR().topRows(c.size()).triangularView<Eigen::Upper>();
    Matrix const R_inverse =
        R.triangularView<Eigen::Upper>().solve(Matrix::Identity(c.size(), c.size()));
    Matrix V = R_inverse * R_inverse.transpose();
    if (u_y.empty()) {
        double const variance = out.degrees_of_freedom > 0 ? rss / out.degrees_of_freedom : 0.0;
        V *= variance;
        out.residual_sd = std::sqrt(variance);
        double const middle = shape.through_zero ? 0.0 : b.mean();
        double const total = (b.array() - middle).square().sum();
        out.r_squared = total > 0 ? 1 - rss / total : 1;
    } else {
        out.gamma = residual.cwiseAbs().maxCoeff();
    }
    out.V = square(V);
    out.adjusted_x.assign(x.begin(), x.end());
    return out;
}

Result<ResponseFit> fit_response(ResponsePoints const& points, FitShape const& shape) {
    auto const& x = points.x;
    auto const& y = points.y;
    if (x.empty() || x.size() != y.size() || (!points.Vx.empty() && points.Vx.size() != x.size()) ||
        (!points.Vy.empty() && points.Vy.size() != x.size()))
        return fail(Errc::bad_input, "Points need an x and a y each.", "points");
    auto const n = static_cast<Index>(x.size());
    Matrix const Vx = dense(points.Vx, n);
    Matrix Vy = dense(points.Vy, n);
    double largest = 0;
    for (double const each : y) largest = std::max(largest, std::abs(each));
    for (Index i = 0; i < n; ++i)
        if (!(Vy(i, i) > 0) && !(Vx(i, i) > 0))
            Vy(i, i) = std::pow(1e-9 * std::max(largest, 1e-300), 2);

    // The ordinary fit is near enough to start from.
    GW_TRY(auto out, fit_polynomial(x, y, {}, shape));
    Eigen::Map<Vector const> const x0(x.data(), n);
    Eigen::Map<Vector const> const y0(y.data(), n);
    Vector xi = x0;
    Matrix A, W_inverse_A;
    Eigen::LLT<Matrix> W;
    Vector misfit, D(n);
    out.converged = false;
    double before = INFINITY;
    constexpr int most = 200;  // the published examples take 5 to 20
    for (out.iterations = 1; out.iterations <= most; ++out.iterations) {
        std::vector<double> const at(xi.data(), xi.data() + n);
        A = design(out.f, at);
        Vector F(n);
        for (Index i = 0; i < n; ++i) {
            F(i) = out.f(xi(i));
            D(i) = out.f.slope(xi(i));
        }
        Matrix const cov = Vy + D.asDiagonal() * Vx * D.asDiagonal();
        W.compute(cov);
        if (W.info() != Eigen::Success)
            return fail(Errc::out_of_range,
                        "The uncertainties of the points are no covariance together.",
                        "points",
                        "correct the covariance");
        Vector const e = y0 - F - D.cwiseProduct(x0 - xi);
        Matrix const WA = W.matrixL().solve(A);
        Vector const We = W.matrixL().solve(e);
        Vector const step = WA.colPivHouseholderQr().solve(We);
        for (Index z = 0; z < step.size(); ++z) out.f.c[static_cast<std::size_t>(z)] += step(z);
        misfit = e - A * step;
        Vector const next = x0 + Vx * D.cwiseProduct(W.solve(misfit));
        double const moved = (next - xi).cwiseAbs().maxCoeff() / out.f.scale;
        xi = next;
        double const chi2 = W.matrixL().solve(misfit).squaredNorm();
        Eigen::Map<Vector const> const c(out.f.c.data(), step.size());
        bool const still = step.norm() <= 1e-13 * c.norm() && moved <= 1e-13;
        bool const flat = std::abs(chi2 - before) <= 1e-15 * std::max(chi2, 1e-30);
        if (!std::isfinite(chi2) || !std::isfinite(out.f.c.front()))
            return fail(Errc::out_of_range,
                        "No curve can be laid through these points.",
                        "points",
                        "check amounts, responses and their uncertainties");
        out.chi_squared = chi2;
        before = chi2;
        W_inverse_A = WA;
        if (still || (flat && out.iterations > 5)) {
            out.converged = true;
            break;
        }
    }
    out.degrees_of_freedom = static_cast<int>(n) - static_cast<int>(out.f.c.size());
    Matrix const information = W_inverse_A.transpose() * W_inverse_A;
    out.V =
        square(information.llt().solve(Matrix::Identity(information.rows(), information.cols())));
    out.adjusted_x.assign(xi.data(), xi.data() + n);
    out.residual_sd = out.r_squared = out.gamma = 0;
    for (Index i = 0; i < n; ++i) {
        if (Vx(i, i) > 0)
            out.gamma = std::max(out.gamma, std::abs(x0(i) - xi(i)) / std::sqrt(Vx(i, i)));
        if (Vy(i, i) > 0)
            out.gamma = std::max(out.gamma, std::abs(y0(i) - out.f(xi(i))) / std::sqrt(Vy(i, i)));
    }
    return out;
}

Measured forward(ResponseFit const& fit, Measured x) {
    double const slope = fit.f.slope(x.value);
    double const variance = quadratic_form(fit.V, fit.f.basis(x.value));
    return {fit.f(x.value), std::sqrt(variance + slope * slope * x.u * x.u)};
}

Result<Measured> inverse(ResponseFit const& fit, Measured y, double start) {
    double x = start;
    for (int i = 0; i < 100; ++i) {
        double const slope = fit.f.slope(x);
        double const step = (y.value - fit.f(x)) / slope;
        if (!std::isfinite(step)) break;
        x += step;
        if (std::abs(step) <= 1e-14 * std::max(std::abs(x), fit.f.scale)) {
            double const at = fit.f.slope(x);
            double const variance = quadratic_form(fit.V, fit.f.basis(x)) + y.u * y.u;
            return Measured{x, std::sqrt(variance) / std::abs(at)};
        }
    }
    return fail(Errc::out_of_range,
                "The curve does not reach this response near the points.",
                "response",
                "stay within the points");
}

}  // namespace gw::metrology
