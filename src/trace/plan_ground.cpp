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
    blocks_ = samples / plan_block;
    weights_.resize(4 * blocks_);
    first_spline_.resize(blocks_);
    std::vector<std::array<double, 4>> band(splines, std::array<double, 4>{});
    double const u_step = plan_block / per_knot;
    auto const extend = [&](std::vector<KnotSpan>& spans, std::size_t b, double u, bool anew) {
        if (anew || spans.empty() || spans.back().last != b ||
            spans.back().spline != first_spline_[b])
            spans.push_back({b, b, first_spline_[b], u, u_step});
        spans.back().last = b + 1;
    };
    for (std::size_t b = 0; b < blocks_; ++b) {
        double const x = (static_cast<double>(b * plan_block) + 0.5 * (plan_block - 1)) / per_knot;
        double const u = x - std::floor(x), v = 1 - u;
        first_spline_[b] = static_cast<std::uint32_t>(std::floor(x));
        double* w = &weights_[4 * b];
        w[0] = v * v * v / 6, w[1] = (3 * u * u * u - 6 * u * u + 4) / 6;
        w[2] = (3 * v * v * v - 6 * v * v + 4) / 6, w[3] = u * u * u / 6;
        std::size_t const steps_before = static_cast<std::size_t>(
            std::upper_bound(step_blocks_.begin(), step_blocks_.end(), b) - step_blocks_.begin());
        bool const steps_here = !behind_.empty() && behind_.back() != steps_before;
        extend(all_, b, u, steps_here);
        behind_.resize(all_.size(), steps_before);
        if (free_blocks[b] == 0) continue;
        extend(free_, b, u, steps_here);
        for (std::size_t i = 0; i < 4; ++i)
            for (std::size_t j = i; j < 4; ++j)
                band[first_spline_[b] + i][j - i] += static_cast<double>(plan_block) * w[i] * w[j];
    }
    double const stiff = stiffness_s / (2 * std::numbers::pi * knot_s);
    double const mu = std::pow(stiff, 4) * per_knot;
    std::array<double, 3> const second{1, -2, 1};
    for (std::size_t c = 0; c + 2 < splines; ++c)
        for (std::size_t i = 0; i < 3; ++i)
            for (std::size_t j = i; j < 3; ++j) band[c + i][j - i] += mu * second[i] * second[j];
    for (auto& row : band) row[0] += 1e-11 * mu;
    lower_.assign(splines, std::array<double, 3>{});
    inverse_.assign(splines, 0.0);
    std::vector<double> diagonal(splines);
    for (std::size_t i = 0; i < splines; ++i) {
        for (std::size_t k = std::min<std::size_t>(3, i); k > 0; --k) {
            std::size_t const j = i - k;
            double v = band[j][k];
            for (std::size_t m = k + 1; m <= 3 && m <= i; ++m)
                v -= lower_[i][m - 1] * diagonal[i - m] * lower_[j][m - k - 1];
            lower_[i][k - 1] = v * inverse_[j];
        }
        double v = band[i][0];
        for (std::size_t k = 1; k <= 3 && k <= i; ++k)
            v -= lower_[i][k - 1] * lower_[i][k - 1] * diagonal[i - k];
        diagonal[i] = std::max(v, 1e-300);
        inverse_[i] = 1 / diagonal[i];
    }
    of_one_.assign(splines, 0.0);
    for (auto const& span : free_)
        for (std::size_t b = span.first; b < span.last; ++b)
            for (std::size_t i = 0; i < 4; ++i)
                of_one_[span.spline + i] += plan_block * weights_[4 * b + i];
    std::size_t const k = step_blocks_.size();
    if (k == 0) return;
    // Columns of the steps among the splines, and their own products.
    through_.assign(k, std::vector<double>(splines, 0.0));
    Eigen::MatrixXd rest =
        Eigen::MatrixXd::Zero(static_cast<Eigen::Index>(k), static_cast<Eigen::Index>(k));
    std::vector<std::vector<double>> cross(k, std::vector<double>(splines, 0.0));
    for (std::size_t s = 0; s < k; ++s)
        for (std::size_t b = step_blocks_[s]; b < blocks_; ++b) {
            if (free_blocks[b] == 0) continue;
            for (std::size_t i = 0; i < 4; ++i)
                cross[s][first_spline_[b] + i] += plan_block * weights_[4 * b + i];
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
    // Only the last product waits for the number before.
    double z1 = 0, z2 = 0, z3 = 0;
    for (std::size_t i = 0; i < n; ++i) {
        auto const& l = lower_[i];
        double const v = (c[i] - l[2] * z3 - l[1] * z2) - l[0] * z1;
        c[i] = v, z3 = z2, z2 = z1, z1 = v;
    }
    for (std::size_t i = 0; i < n; ++i) c[i] *= inverse_[i];
    z1 = z2 = z3 = 0;
    double l1 = 0, l2 = 0, l3 = 0;  // L(i + 1, i), L(i + 2, i), L(i + 3, i)
    for (std::size_t i = n; i-- > 0;) {
        double const v = (c[i] - l3 * z3 - l2 * z2) - l1 * z1;
        c[i] = v, z3 = z2, z2 = z1, z1 = v;
        l1 = lower_[i][0], l2 = i + 1 < n ? lower_[i + 1][1] : 0;
        l3 = i + 2 < n ? lower_[i + 2][2] : 0;
    }
}

void PlanGround::fit_steps(std::vector<float> const& block_sum,
                           double mean,
                           LaidGround& out) const {
    std::size_t const k = step_blocks_.size();
    // Of each step's right side, what the splines do not already take: from the last step to the
    // first, each has all that the one behind it has.
    auto& left = out.left;
    left.assign(k, 0.0);
    std::size_t span = free_.size();
    double sum = 0;
    for (std::size_t s = k; s-- > 0;) {
        for (; span > 0 && free_[span - 1].first >= step_blocks_[s]; --span) {
            auto const& part = free_[span - 1];
            double const* c = out.splines.data() + part.spline;
            for (std::size_t b = part.first; b < part.last; ++b) {
                double const* w = &weights_[4 * b];
                double const laid =
                    mean + (w[0] * c[0] + w[1] * c[1]) + (w[2] * c[2] + w[3] * c[3]);
                sum += static_cast<double>(block_sum[b]) - plan_block * laid;
            }
        }
        left[s] = sum;
    }
    for (std::size_t s = 0; s < k; ++s)
        for (std::size_t r = 0; r < k; ++r) out.steps[s] += rest_inverse_[s * k + r] * left[r];
    for (std::size_t s = 0; s < k; ++s)
        for (std::size_t i = 0; i < out.splines.size(); ++i)
            out.splines[i] -= out.steps[s] * through_[s][i];
}

void PlanGround::lay(std::vector<float> const& block_sum, LaidGround& out) const {
    std::size_t const n = lower_.size(), k = step_blocks_.size();
    auto& c = out.splines;
    c.assign(n, 0.0);
    for (auto const& span : free_) add_moments(span, block_sum.data(), weights_.data(), c.data());
    // The four splines of a place add up to one.
    double mean = 0, count = 0;
    for (std::size_t i = 0; i < n; ++i) mean += c[i], count += of_one_[i];
    mean /= count;
    for (std::size_t i = 0; i < n; ++i) c[i] -= mean * of_one_[i];
    solve(c.data());
    out.steps.assign(k, 0.0);
    if (k > 0) fit_steps(block_sum, mean, out);
    out.level.resize(blocks_ + blocks_behind), out.above.resize(blocks_ + blocks_behind);
    double stepped = 0;
    std::size_t behind = 0;
    for (std::size_t i = 0; i < all_.size(); ++i) {
        for (; behind < behind_[i]; ++behind) stepped += out.steps[behind];
        double const *s = c.data() + all_[i].spline, base = mean + stepped;
        lay_span(all_[i],
                 {base + (s[0] + 4 * s[1] + s[2]) / 6,
                  (s[2] - s[0]) / 2,
                  (s[0] - 2 * s[1] + s[2]) / 2,
                  (s[3] - s[0] + 3 * (s[1] - s[2])) / 6},
                 block_sum.data(),
                 out.level.data(),
                 out.above.data());
    }
}

}  // namespace gw::trace
