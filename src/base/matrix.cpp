#include "base/matrix.hpp"

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>

namespace gw {

SquareMatrix SquareMatrix::of_standard_uncertainties(std::span<double const> u) {
    SquareMatrix V(u.size());
    for (std::size_t i = 0; i < u.size(); ++i) V(i, i) = u[i] * u[i];
    return V;
}

double quadratic_form(SquareMatrix const& V, std::span<double const> g) {
    double sum = 0.0;
    for (std::size_t i = 0; i < V.size(); ++i) {
        double row = 0.0;
        for (std::size_t j = 0; j < V.size(); ++j) row += V(i, j) * g[j];
        sum += g[i] * row;
    }
    return std::max(sum, 0.0);
}

SquareMatrix congruence(std::span<double const> J, std::size_t rows, SquareMatrix const& V) {
    std::size_t const n = V.size();
    std::vector<double> JV(rows * n, 0.0);
    for (std::size_t i = 0; i < rows; ++i)
        for (std::size_t k = 0; k < n; ++k) {
            double const j_ik = J[i * n + k];
            if (j_ik == 0.0) continue;
            for (std::size_t j = 0; j < n; ++j) JV[i * n + j] += j_ik * V(k, j);
        }
    SquareMatrix out(rows);
    for (std::size_t i = 0; i < rows; ++i)
        for (std::size_t j = i; j < rows; ++j) {
            double sum = 0.0;
            for (std::size_t k = 0; k < n; ++k) sum += JV[i * n + k] * J[j * n + k];
            out(i, j) = out(j, i) = sum;
        }
    return out;
}

std::vector<double> standard_uncertainties(SquareMatrix const& V) {
    std::vector<double> u(V.size());
    for (std::size_t i = 0; i < V.size(); ++i) u[i] = std::sqrt(std::max(V(i, i), 0.0));
    return u;
}

bool is_covariance(SquareMatrix const& V, double tolerance) {
    auto const n = static_cast<Eigen::Index>(V.size());
    double largest = 0.0;
    for (double const cell : V.cells()) {
        if (!std::isfinite(cell)) return false;
        largest = std::max(largest, std::abs(cell));
    }
    if (n == 0 || largest == 0.0) return true;
    Eigen::MatrixXd scaled(n,
                           n);  // to correlations, so that small components count as much as large
    for (Eigen::Index i = 0; i < n; ++i)
        for (Eigen::Index j = 0; j < n; ++j) {
            double const v = V(i, j);
            if (std::abs(v - V(j, i)) > tolerance * largest) return false;
            double const scale = std::sqrt(std::max(V(i, i), 0.0) * std::max(V(j, j), 0.0));
            if (i == j && v < 0) return false;
            if (scale == 0.0) {
                if (std::abs(v) > tolerance * largest) return false;
                scaled(i, j) = 0.0;
            } else {
                scaled(i, j) = v / scale;
            }
        }
    Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> const solver(scaled, Eigen::EigenvaluesOnly);
    // Published correlation matrices are rounded to a few digits: allow what that rounding can do.
    return solver.eigenvalues().minCoeff() > -1e-3 * static_cast<double>(n);
}

}  // namespace gw
