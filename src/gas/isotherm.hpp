#pragma once
/// The residual Helmholtz energy of a mixture, in the one form that GERG-2008 and AGA 8 DETAIL
/// share:
///   alpha_r(delta, tau) = sum of terms  n tau^t delta^d K(delta),
/// with a kernel K that is 1, exp(-delta^c) or exp(-eta (delta-epsilon)^2 - beta (delta-gamma)).
/// At fixed composition equal (kernel, d, t) are one term; at fixed temperature equal (kernel, d)
/// are one coefficient, so that a density costs one exponential a kernel and a short polynomial.
/// Derivatives are those of Euler's operators D = delta d/d delta and T = tau d/d tau, which keep
/// every term in its form: D K delta^d = (d + delta K'/K) K delta^d.
#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace gw::gas {

struct Kernel {
    int decay = 0;  ///< c of exp(-delta^c), 0: no decay, -1: bell
    double eta = 0, epsilon = 0, beta = 0, gamma = 0;  ///< of the bell
    friend bool operator==(Kernel const&, Kernel const&) = default;
};

/// All terms an equation can have, whatever the gas. Built once.
class TermLayout {
  public:
    /// The place of a term; equal terms share one. t: a multiple of 1/40 from -16 to 32, d from 1
    /// to 9.
    std::size_t place(Kernel const& kernel, int d, double t);
    [[nodiscard]] std::size_t size() const { return terms_.size(); }

    struct Term {
        std::uint8_t kernel, d;
        std::int16_t fortieths;  ///< 40 t
    };
    [[nodiscard]] std::span<Term const> terms() const { return terms_; }
    [[nodiscard]] std::span<Kernel const> kernels() const { return kernels_; }

  private:
    std::vector<Kernel> kernels_;
    std::vector<Term> terms_;
};

/// The terms of one composition; those that are nought cost nothing.
class MixtureTerms {
  public:
    MixtureTerms() = default;
    /// coefficients: n of each term, by its place in the layout.
    MixtureTerms(TermLayout const& layout, std::span<double const> coefficients);

    static constexpr std::size_t most_slots = 96;
    using Coefficients = std::array<double, most_slots>;

  private:
    friend class Isotherm;
    struct Power {
        std::uint8_t whole, fraction;  ///< t = whole - 16 + fraction/40
    };
    struct Term {
        double n, t;
        std::uint16_t power, slot;
    };
    struct Polynomial {
        Kernel kernel;
        int low = 0, high = 0;  ///< powers of delta
        std::size_t slot = 0;   ///< of the lowest
    };
    std::vector<Power> powers_;
    std::vector<Term> terms_;
    std::vector<Polynomial> polynomials_;
    std::size_t slots_ = 0;
};

/// alpha_r and its density derivatives: A0 = alpha_r, A1 = D alpha_r, A2 = D^2, A3 = D^3.
struct DensityDerivatives {
    double A0{}, A1{}, A2{}, A3{};
};
/// With T alpha_r, T^2 alpha_r and T D alpha_r.
struct AllDerivatives {
    DensityDerivatives density;
    double T1{}, T2{}, T1D1{};
};

/// One composition at one temperature. Borrows the terms.
class Isotherm {
  public:
    Isotherm(MixtureTerms const& terms, double tau);
    [[nodiscard]] DensityDerivatives at(double delta) const;  ///< all four
    /// A1, A2 and A3 alone, for solvers.
    [[nodiscard]] DensityDerivatives slopes_at(double delta) const;
    [[nodiscard]] AllDerivatives all_at(double delta) const;

  private:
    MixtureTerms const* terms_;
    double tau_;
    MixtureTerms::Coefficients n_;
};

}  // namespace gw::gas
