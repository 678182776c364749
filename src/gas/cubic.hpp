#pragma once
/// The Peng-Robinson (1978) and Soave-Redlich-Kwong equations: fugacities of a mixture and their
/// derivatives, for phase stability and dew points.
/// Sources: D.-Y. Peng, D. B. Robinson, Ind. Eng. Chem. Fundam. 15 (1976) 59, with the 1978 form of
/// the acentric factor above 0.49; G. Soave, Chem. Eng. Sci. 27 (1972) 1197. Derivatives in the
/// manner of M. L. Michelsen, J. M. Mollerup, Thermodynamic Models, 2nd ed. (2007), chapter 3.
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/quantity.hpp"
#include "base/result.hpp"
#include "gas/composition.hpp"

namespace gw::gas {

enum class CubicEquation { peng_robinson, soave_redlich_kwong };
std::string_view name(CubicEquation equation);  ///< "pr" or "srk"
std::optional<CubicEquation> cubic_equation(std::string_view name);

/// ln of the fugacity coefficients at one state and their derivatives.
struct Fugacity {
    double Z{};
    std::vector<double> ln_phi;
    std::vector<double> d_T;   ///< 1/K
    std::vector<double> d_p;   ///< 1/Pa
    std::vector<double> d_n;   ///< n times the derivative to mole numbers, row by row
    std::vector<double> work;  ///< kept from call to call, of no meaning to the caller
};
/// Which real root: the one of lowest Gibbs energy, or always the largest or the smallest.
enum class Root { stable, vapour, liquid };
enum class WithDerivatives {
    no,
    of_state,  ///< to temperature and pressure
    yes        ///< and to mole numbers
};

/// One list of components with their parameters; amounts come with each call.
class CubicMixture {
  public:
    CubicMixture(CubicEquation equation, std::vector<Component> components);
    [[nodiscard]] CubicEquation equation() const { return equation_; }
    [[nodiscard]] std::vector<Component> const& components() const { return components_; }
    [[nodiscard]] std::size_t size() const { return components_.size(); }

    /// x: amounts, any positive total; T in K, p in Pa.
    void fugacity(std::span<double const> x,
                  double T,
                  double p,
                  WithDerivatives derivatives,
                  Fugacity& out,
                  Root root = Root::stable) const;

    /// Wilson's estimate of ln(y/x) of each component.
    void wilson_ln_K(double T, double p, std::span<double> out) const;

    [[nodiscard]] double critical_temperature(std::size_t i) const { return pure_[i].Tc; }  ///< K
    [[nodiscard]] double critical_pressure(std::size_t i) const { return pure_[i].pc; }     ///< Pa

  private:
    struct Pure {
        double Tc, pc, omega, ac, b, m, root_ac, root_Tc;
    };
    CubicEquation equation_;
    double d1_, d2_;  ///< p = RT/(v-b) - a/((v+d1 b)(v+d2 b))
    std::vector<Component> components_;
    std::vector<Pure> pure_;
    std::vector<double> one_less_k_;  ///< 1 - kij, row by row
};

/// What of a gas the cubic equations see: water left out, components without critical constants
/// counted as the stand-in of data/gas/equation_components.json, zero amounts dropped, scaled to
/// one.
struct CubicGas {
    CubicMixture mixture;
    std::vector<double> z;
    std::vector<std::string> warnings;
};
Result<CubicGas> cubic_gas(Composition const& gas, CubicEquation equation);

}  // namespace gw::gas
