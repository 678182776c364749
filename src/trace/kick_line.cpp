#include "trace/kick_line.hpp"

#include <Eigen/Dense>
#include <array>
#include <cmath>

namespace gw::trace {

KickLine::KickLine(std::span<double const> y, KickWindow const& w, int degree, double noise)
    : window_(w), powers_(degree + 1), noise_(noise), skipped_(w.skip) {
    double const half = 0.5 * static_cast<double>(w.to - w.from), level = y[w.from];
    std::array<double, 9> sum{}, after{};  // of u^0, u^1, ... over all, and after the onset
    power_heights_ = Vector::Zero(powers_);
    for (std::size_t i = w.from; i < w.to; ++i) {
        if (i >= w.at && i < w.at + w.skip) continue;
        if (i < w.at) ++onset_;
        double const u = static_cast<double>(i - w.from) / half - 1, v = y[i] - level;
        u_.push_back(u), v_.push_back(v);
        double power = 1;
        for (std::size_t k = 0; k < sum.size(); ++k, power *= u) {
            sum[k] += power;
            if (i >= w.at) after[k] += power;
            if (static_cast<Eigen::Index>(k) < powers_)
                power_heights_(static_cast<Eigen::Index>(k)) += power * v;
        }
        squares_ += v * v;
        if (i >= w.at) step_height_ += v;
    }
    power_products_.resize(powers_, powers_), step_powers_.resize(powers_ + 1);
    for (Eigen::Index a = 0; a < powers_; ++a)
        for (Eigen::Index b = 0; b < powers_; ++b)
            power_products_(a, b) = sum[static_cast<std::size_t>(a + b)];
    for (Eigen::Index a = 0; a < powers_; ++a) step_powers_(a) = after[static_cast<std::size_t>(a)];
    step_powers_(powers_) = after[0];
}

KickLine::Equations KickLine::equations(Eigen::Index columns) const {
    auto const m = powers_ + columns;
    Equations e{Matrix::Zero(m, m), Vector::Zero(m)};
    e.A.topLeftCorner(powers_, powers_) = power_products_;
    e.b.head(powers_) = power_heights_;
    return e;
}

double KickLine::solved(Equations const& e, Vector& c, double* last_variance) const {
    constexpr double none = std::numeric_limits<double>::infinity();
    auto const m = e.b.size(), n = static_cast<Eigen::Index>(u_.size());
    if (n < m + 4) return none;
    Eigen::LDLT<Matrix> const solver(e.A);
    if (solver.info() != Eigen::Success) return none;
    auto const pivots = solver.vectorD().cwiseAbs();
    if (pivots.minCoeff() < 1e-13 * pivots.maxCoeff()) return none;
    c = solver.solve(e.b);
    if (!c.allFinite()) return none;
    if (last_variance != nullptr) {
        Vector unit = Vector::Unit(m, m - 1);
        *last_variance = std::max(0.0, Vector(solver.solve(unit))(m - 1));
    }
    return std::max(0.0, squares_ - c.dot(e.b)) / (noise_ * noise_ * static_cast<double>(n - m));
}

KickFit KickLine::with(double decay, double lag, bool step) const {
    Eigen::Index const exponentials = decay > 0 ? (lag > 0 ? 2 : 1) : 0,
                       columns = exponentials + (step ? 1 : 0);
    auto e = equations(columns);
    Eigen::Index const slow = powers_, quick = powers_ + 1, last = powers_ + columns - 1;
    if (exponentials > 0) {
        double const keep = std::exp(-1 / decay), keep_lag = lag > 0 ? std::exp(-1 / lag) : 0;
        auto const first = static_cast<double>(skipped_);
        double fading = std::exp(-first / decay), lagged = lag > 0 ? std::exp(-first / lag) : 0;
        for (std::size_t i = onset_; i < u_.size(); ++i, fading *= keep, lagged *= keep_lag) {
            double of_slow = fading, of_quick = lagged;
            for (Eigen::Index a = 0; a < powers_; ++a, of_slow *= u_[i], of_quick *= u_[i]) {
                e.A(a, slow) += of_slow;
                if (lag > 0) e.A(a, quick) += of_quick;
            }
            e.A(slow, slow) += fading * fading;
            e.b(slow) += fading * v_[i];
            if (lag == 0) continue;
            e.A(slow, quick) += fading * lagged;
            e.A(quick, quick) += lagged * lagged;
            e.b(quick) += lagged * v_[i];
        }
        e.A.row(slow).head(powers_) = e.A.col(slow).head(powers_).transpose();
        if (lag > 0) {
            e.A.row(quick).head(powers_) = e.A.col(quick).head(powers_).transpose();
            e.A(quick, slow) = e.A(slow, quick);
        }
    }
    if (step) {
        e.A.col(last).head(powers_) = step_powers_.head(powers_);
        // The polynomial's constant sums each exponential.
        for (Eigen::Index k = 0; k < exponentials; ++k)
            e.A(powers_ + k, last) = e.A(0, powers_ + k);
        e.A(last, last) = step_powers_(powers_);
        e.A.row(last).head(last) = e.A.col(last).head(last).transpose();
        e.b(last) = step_height_;
    }
    Vector c;
    double variance = 0;
    KickFit out{{decay, lag}, solved(e, c, step ? &variance : nullptr)};
    if (!std::isfinite(out.chi)) return out;
    if (exponentials > 0) out.shape.amplitude = c(slow);
    if (exponentials > 1) out.shape.lag_amplitude = c(quick);
    if (step) out.shape.step = c(last), out.step_u = noise_ * std::sqrt(variance);
    return out;
}

double KickLine::chi_with(std::span<double const> values) const {
    auto e = equations(1);
    auto const last = powers_;
    for (std::size_t i = 0, k = 0; i < values.size(); ++i) {
        std::size_t const sample = window_.from + i;
        if (sample >= window_.at && sample < window_.at + window_.skip) continue;
        double power = values[i];
        e.b(last) += values[i] * v_[k], e.A(last, last) += values[i] * values[i];
        for (Eigen::Index a = 0; a < powers_; ++a, power *= u_[k]) e.A(a, last) += power;
        ++k;
    }
    e.A.row(last).head(last) = e.A.col(last).head(last).transpose();
    Vector c;
    return solved(e, c, nullptr);
}

}  // namespace gw::trace
