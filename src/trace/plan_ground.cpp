#include "trace/plan_ground.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

namespace gw::trace {

PlanGround::PlanGround(std::size_t samples,
                       double interval_s,
                       double stiffness_s,
                       std::vector<std::uint8_t> const& free_blocks,
                       std::vector<std::size_t> step_blocks)
    : step_blocks_(std::move(step_blocks)) {
    // The same splines and the same penalty as background(); a block counts with all its samples at
    // its middle, which a level that bends over seconds does not notice.
    double const knot_s = std::clamp(stiffness_s / 24, 1.5, 8.0);
    double const per_knot = std::max(1.0, knot_s / interval_s);
    auto const splines =
        static_cast<std::size_t>(std::floor(static_cast<double>(samples - 1) / per_knot)) + 4;
    std::size_t const blocks = samples / plan_block;
    rows_.resize(blocks);
    std::vector<std::array<double, 4>> band(splines, std::array<double, 4>{});
    for (std::size_t b = 0; b < blocks; ++b) {
        double const x = (static_cast<double>(b * plan_block) + 0.5 * (plan_block - 1)) / per_knot;
        double const u = x - std::floor(x), v = 1 - u;
        auto& row = rows_[b];
        row.first = static_cast<std::uint32_t>(std::floor(x));
        row.value = {v * v * v / 6,
                     (3 * u * u * u - 6 * u * u + 4) / 6,
                     (3 * v * v * v - 6 * v * v + 4) / 6,
                     u * u * u / 6};
        if (free_blocks[b] == 0) continue;
        for (std::size_t i = 0; i < 4; ++i)
            for (std::size_t j = i; j < 4; ++j)
                band[row.first + i][j - i] +=
                    static_cast<double>(plan_block) * row.value[i] * row.value[j];
    }
    double const stiff = stiffness_s / (2 * std::numbers::pi * knot_s);
    double const mu = std::pow(stiff, 4) * per_knot;
    std::array<double, 3> const second{1, -2, 1};
    for (std::size_t c = 0; c + 2 < splines; ++c)
        for (std::size_t i = 0; i < 3; ++i)
            for (std::size_t j = i; j < 3; ++j) band[c + i][j - i] += mu * second[i] * second[j];
    for (auto& row : band) row[0] += 1e-11 * mu;
    // L L' = A, three diagonals below the main one. lower_[i][k]: L(i, i - k); [0] holds 1 / L(i,
    // i).
    lower_.assign(splines, std::array<double, 4>{});
    for (std::size_t i = 0; i < splines; ++i) {
        for (std::size_t k = std::min<std::size_t>(3, i); k > 0; --k) {
            std::size_t const j = i - k;
            double v = band[j][k];
            for (std::size_t m = k + 1; m <= 3 && m <= i; ++m) v -= lower_[i][m] * lower_[j][m - k];
            lower_[i][k] = v * lower_[j][0];
        }
        double v = band[i][0];
        for (std::size_t k = 1; k <= 3 && k <= i; ++k) v -= lower_[i][k] * lower_[i][k];
        lower_[i][0] = 1 / std::sqrt(std::max(v, 1e-300));
    }
    std::size_t const k = step_blocks_.size();
    if (k == 0) return;
    // Columns of the steps among the splines, and their own products.
    through_.assign(k, std::vector<double>(splines, 0.0));
    Eigen::MatrixXd rest =
        Eigen::MatrixXd::Zero(static_cast<Eigen::Index>(k), static_cast<Eigen::Index>(k));
    std::vector<std::vector<double>> cross(k, std::vector<double>(splines, 0.0));
    for (std::size_t s = 0; s < k; ++s)
        for (std::size_t b = step_blocks_[s]; b < blocks; ++b) {
            if (free_blocks[b] == 0) continue;
            for (std::size_t i = 0; i < 4; ++i)
                cross[s][rows_[b].first + i] += plan_block * rows_[b].value[i];
            for (std::size_t r = 0; r <= s; ++r)
                rest(static_cast<Eigen::Index>(s), static_cast<Eigen::Index>(r)) += plan_block;
        }
    for (std::size_t s = 0; s < k; ++s) {
        through_[s] = cross[s];
        solve(through_[s].data());
        for (std::size_t r = 0; r <= s; ++r) {
            double product = 0;
            for (std::size_t c = 0; c < splines; ++c) product += cross[s][c] * through_[r][c];
            auto const i = static_cast<Eigen::Index>(s), j = static_cast<Eigen::Index>(r);
            rest(i, j) += (s == r ? 1e-3 : 0) - product;  // the same ridge as background()
            rest(j, i) = rest(i, j);
        }
    }
    Eigen::MatrixXd const inverse = rest.ldlt().solve(
        Eigen::MatrixXd::Identity(static_cast<Eigen::Index>(k), static_cast<Eigen::Index>(k)));
    rest_inverse_.assign(inverse.data(), inverse.data() + inverse.size());
}

void PlanGround::solve(double* c) const {
    std::size_t const n = lower_.size();
    for (std::size_t i = 0; i < n; ++i) {
        double v = c[i];
        for (std::size_t k = 1; k <= 3 && k <= i; ++k) v -= lower_[i][k] * c[i - k];
        c[i] = v * lower_[i][0];
    }
    for (std::size_t i = n; i-- > 0;) {
        double v = c[i];
        for (std::size_t k = 1; k <= 3 && i + k < n; ++k) v -= lower_[i + k][k] * c[i + k];
        c[i] = v * lower_[i][0];
    }
}

void PlanGround::lay(std::vector<double> const& block_sum,
                     std::vector<std::uint8_t> const& free_blocks,
                     std::vector<double>& c,
                     std::vector<double>& level,
                     std::vector<double>& steps) const {
    std::size_t const n = lower_.size(), blocks = rows_.size();
    double mean = 0, count = 0;
    for (std::size_t b = 0; b < blocks; ++b)
        if (free_blocks[b] != 0) mean += block_sum[b], count += plan_block;
    mean /= count;
    c.assign(n, 0.0);
    for (std::size_t b = 0; b < blocks; ++b) {
        if (free_blocks[b] == 0) continue;
        auto const& row = rows_[b];
        double const v = block_sum[b] - static_cast<double>(plan_block) * mean;
        for (std::size_t k = 0; k < 4; ++k) c[row.first + k] += row.value[k] * v;
    }
    solve(c.data());
    std::size_t const k = step_blocks_.size();
    steps.assign(k, 0.0);
    if (k > 0) {
        // Of each step's right side, what the splines do not already take.
        std::vector<double> left(k, 0.0);
        for (std::size_t s = 0; s < k; ++s)
            for (std::size_t b = step_blocks_[s]; b < blocks; ++b)
                if (free_blocks[b] != 0) {
                    auto const& row = rows_[b];
                    double v = block_sum[b] - static_cast<double>(plan_block) * mean;
                    for (std::size_t i = 0; i < 4; ++i)
                        v -= plan_block * row.value[i] * c[row.first + i];
                    left[s] += v;
                }
        for (std::size_t s = 0; s < k; ++s)
            for (std::size_t r = 0; r < k; ++r) steps[s] += rest_inverse_[s * k + r] * left[r];
        for (std::size_t s = 0; s < k; ++s)
            for (std::size_t i = 0; i < n; ++i) c[i] -= steps[s] * through_[s][i];
    }
    level.resize(blocks);
    for (std::size_t b = 0; b < blocks; ++b) {
        auto const& row = rows_[b];
        double v = mean;
        for (std::size_t k = 0; k < 4; ++k) v += row.value[k] * c[row.first + k];
        level[b] = v;
    }
    for (std::size_t s = 0; s < k; ++s)
        for (std::size_t b = step_blocks_[s]; b < blocks; ++b) level[b] += steps[s];
}

}  // namespace gw::trace
