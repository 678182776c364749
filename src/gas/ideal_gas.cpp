#include "gas/ideal_gas.hpp"

#include <cmath>

#include "gerg_tables.hpp"

namespace gw::gas {

namespace table = generated::gerg;

IdealGas ideal_gas(EquationFractions const& x, double T, double R) {
    double const q = table::R_star / R;  // the coefficients were fitted with the older constant
    double const log_T = std::log(T);
    double const log_rho_ref = std::log(table::p0 / (R * table::T0));
    IdealGas out;
    for (std::size_t i = 0; i < x.size(); ++i) {
        if (!(x[i] > 0)) continue;
        auto const& n = table::components[i].ideal_n;
        auto const& theta = table::components[i].ideal_theta;
        double alpha = std::log(x[i]) - log_rho_ref + q * n[0] +
                       (q * (n[1] + table::T0) - table::T0) / T - q * (n[2] - 1) * log_T;
        double alpha_t = (q * (n[1] + table::T0) - table::T0) / T + q * (n[2] - 1);
        double cv = n[2] - 1;
        for (std::size_t k = 0; k < theta.size(); ++k) {
            if (theta[k] == 0) continue;
            double const y = theta[k] / T;
            bool const is_sinh = k % 2 == 0;
            // ln sinh and ln cosh without overflow: y - ln 2 + ln(1 -+ exp(-2y))
            double const small = std::exp(-2 * y);
            double const tanh = (1 - small) / (1 + small);
            if (is_sinh) {
                alpha += q * n[k + 3] * (y - std::log(2.0) + std::log1p(-small));
                alpha_t += q * n[k + 3] * y / tanh;
                double const half_inverse = y * std::exp(-y) * 2 / (1 - small);
                cv += n[k + 3] * half_inverse * half_inverse;
            } else {
                alpha -= q * n[k + 3] * (y - std::log(2.0) + std::log1p(small));
                alpha_t -= q * n[k + 3] * y * tanh;
                double const half_inverse = y * std::exp(-y) * 2 / (1 + small);
                cv += n[k + 3] * half_inverse * half_inverse;
            }
        }
        out.alpha += x[i] * alpha;
        out.alpha_t += x[i] * alpha_t;
        out.cv += x[i] * q * cv;
    }
    return out;
}

}  // namespace gw::gas
