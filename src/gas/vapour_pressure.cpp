#include "gas/vapour_pressure.hpp"

#include <array>
#include <cmath>

namespace gw::gas {

namespace {

constexpr double coldest = 0.25;   // of the critical temperature
constexpr double one_root = 1e-9;  // Z of both roots this near: the isotherm has only one

}  // namespace

std::optional<double> saturation_temperature(CubicMixture const& mixture, double p) {
    double const critical_T = mixture.critical_temperature(0);
    double const critical_p = mixture.critical_pressure(0);
    if (mixture.size() != 1 || !(p < critical_p)) return std::nullopt;
    // Both equations have one critical compression factor for every fluid; the density there tells
    // a lone root's side, because at saturation liquid is denser and vapour thinner than that.
    double const critical_Z =
        mixture.equation() == CubicEquation::peng_robinson ? 0.30740 : 1.0 / 3.0;
    double const critical_Zt_p = critical_Z * critical_T / critical_p;
    std::array<double, 1> const one{1.0};
    Fugacity vapour, liquid;
    auto const is_gas = [&](double T) {
        mixture.fugacity(one, T, p, WithDerivatives::no, vapour, Root::vapour);
        mixture.fugacity(one, T, p, WithDerivatives::no, liquid, Root::liquid);
        if (vapour.Z - liquid.Z > one_root * vapour.Z) return vapour.ln_phi[0] < liquid.ln_phi[0];
        return vapour.Z * T / p > critical_Zt_p;
    };
    double low = coldest * critical_T, high = critical_T;
    if (is_gas(low)) return std::nullopt;
    while (high - low > 1e-13 * critical_T) {
        double const middle = 0.5 * (low + high);
        if (middle <= low || middle >= high) break;
        (is_gas(middle) ? high : low) = middle;
    }
    return 0.5 * (low + high);
}

}  // namespace gw::gas
