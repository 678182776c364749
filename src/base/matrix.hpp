#pragma once
/// A small square matrix, row by row: enough to carry a covariance across a folder's border.
#include <cstddef>
#include <span>
#include <vector>

namespace gw {

class SquareMatrix {
  public:
    SquareMatrix() = default;
    explicit SquareMatrix(std::size_t size) : size_(size), cells_(size * size, 0.0) {}

    [[nodiscard]] std::size_t size() const { return size_; }
    [[nodiscard]] bool empty() const { return size_ == 0; }
    double& operator()(std::size_t row, std::size_t column) { return cells_[row * size_ + column]; }
    double operator()(std::size_t row, std::size_t column) const {
        return cells_[row * size_ + column];
    }
    [[nodiscard]] std::span<double const> cells() const { return cells_; }
    [[nodiscard]] std::span<double> cells() { return cells_; }

    /// Diagonal matrix of the squares of u.
    static SquareMatrix of_standard_uncertainties(std::span<double const> u);

  private:
    std::size_t size_{};
    std::vector<double> cells_;
};

/// g' V g: the variance of a quantity with gradient g.
/// g: one entry per row of V. Never negative: rounding below zero is cut to zero.
double quadratic_form(SquareMatrix const& V, std::span<double const> g);
/// J V J' for a (rows x V.size()) matrix J stored row by row.
SquareMatrix congruence(std::span<double const> J, std::size_t rows, SquareMatrix const& V);
/// Standard uncertainties on the diagonal.
std::vector<double> standard_uncertainties(SquareMatrix const& V);
/// True when V is symmetric with a non-negative diagonal, correlations within [-1, 1] and no
/// eigenvalue below -tolerance x the largest: what a covariance must be.
bool is_covariance(SquareMatrix const& V, double tolerance = 1e-9);

}  // namespace gw
