#pragma once
/// A smooth curve with a fading kick and a step on one window of samples, by linear least squares.
/// What does not depend on the time constants is summed once. For kick_fit alone.
#include <Eigen/Core>
#include <span>
#include <vector>

#include "trace/kick_fit.hpp"

namespace gw::trace {

class KickLine {
  public:
    /// degree: of the polynomial, 0 to 4, over the window, which lies within y. noise: standard
    /// deviation of a sample.
    KickLine(std::span<double const> y, KickWindow const& window, int degree, double noise);
    /// decay, lag: time constants in samples of the exponentials after the onset; 0: without. chi
    /// is infinite where the samples do not tell all of it.
    [[nodiscard]] KickFit with(double decay, double lag, bool step) const;
    /// Of the polynomial alone.
    [[nodiscard]] double chi() const { return with(0, 0, false).chi; }
    /// Residual variance over noise variance with one more function: its values at the samples of
    /// the window.
    [[nodiscard]] double chi_with(std::span<double const> values) const;

  private:
    static constexpr int most = 8;  // columns
    using Matrix = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, 0, most, most>;
    using Vector = Eigen::Matrix<double, Eigen::Dynamic, 1, 0, most, 1>;

    struct Equations {
        Matrix A;
        Vector b;
    };
    [[nodiscard]] Equations equations(Eigen::Index columns) const;
    [[nodiscard]] double solved(Equations const& e, Vector& c, double* last_variance) const;

    KickWindow window_;
    Eigen::Index powers_;
    double noise_;
    std::vector<double> u_, v_;  // of the samples that count: place in the window, height
    std::size_t onset_{};        // of these, the first after the onset
    std::size_t skipped_{};      // samples between the onset and it
    Matrix power_products_;
    Vector power_heights_, step_powers_;
    double squares_{}, step_height_{};
};

}  // namespace gw::trace
