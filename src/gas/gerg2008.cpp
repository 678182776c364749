#include "gas/gerg2008.hpp"

#include <cmath>
#include <vector>

#include "gerg_tables.hpp"

namespace gw::gas {

namespace {

namespace table = generated::gerg;

// Where each row of exponents and each row of a departure function stands among the terms.
struct Layout {
    TermLayout terms;
    std::array<std::size_t, table::exponents.size()> pure{};
    std::array<std::size_t, table::departure_terms.size()> departure{};
};

Layout const& layout() {
    static Layout const built = [] {
        Layout out;
        for (std::size_t k = 0; k < table::exponents.size(); ++k) {
            auto const& e = table::exponents[k];
            out.pure[k] = out.terms.place({.decay = e.c}, e.d, e.t);
        }
        for (std::size_t k = 0; k < table::departure_terms.size(); ++k) {
            auto const& e = table::departure_terms[k];
            bool const bell = e.eta != 0 || e.beta != 0;
            Kernel const kernel = bell ? Kernel{-1, e.eta, e.epsilon, e.beta, e.gamma} : Kernel{};
            out.departure[k] = out.terms.place(kernel, e.d, e.t);
        }
        return out;
    }();
    return built;
}

// Kunz and Wagner (2012), equations 16 and 17 for one pair: (x_i+x_j)/(beta^2 x_i+x_j) with its
// factors.
double pair_term(double xi, double xj, double beta, double gamma, double scale) {
    return 2 * xi * xj * beta * gamma * (xi + xj) / (beta * beta * xi + xj) * scale;
}

}  // namespace

WideRangeMixture gerg2008_mixture(EquationFractions const& x) {
    WideRangeMixture out;
    out.x = x;
    out.R = table::R;
    std::vector<double> n(layout().terms.size(), 0.0);
    double Tr = 0, vr = 0;
    std::array<double, equation_component_count> cube_root{}, root_T{};
    for (std::size_t i = 0; i < x.size(); ++i) {
        if (!(x[i] > 0)) continue;
        auto const& c = table::components[i];
        out.molar_mass += x[i] * c.molar_mass;
        Tr += x[i] * x[i] * c.Tc;
        vr += x[i] * x[i] / c.rhoc;
        cube_root[i] = std::cbrt(1 / c.rhoc);
        root_T[i] = std::sqrt(c.Tc);
        for (std::size_t k = 0; k < c.terms; ++k)
            n[layout().pure[c.first_exponent + k]] +=
                x[i] * table::coefficients[c.first_coefficient + k];
    }
    for (auto const& pair : table::pairs) {
        double const xi = x[pair.i], xj = x[pair.j];
        if (!(xi > 0 && xj > 0)) continue;
        double const sum = cube_root[pair.i] + cube_root[pair.j];
        vr += pair_term(xi, xj, pair.beta_v, pair.gamma_v, sum * sum * sum / 8);
        Tr += pair_term(xi, xj, pair.beta_T, pair.gamma_T, root_T[pair.i] * root_T[pair.j]);
        if (pair.F == 0) continue;
        auto const& function = table::departures[pair.departure];
        for (std::size_t k = function.first; k < std::size_t{function.first} + function.terms; ++k)
            n[layout().departure[k]] += xi * xj * pair.F * table::departure_terms[k].n;
    }
    out.reducing_density = 1 / vr;
    out.reducing_temperature = Tr;
    out.single_root_above = 1.1 * Tr;
    out.terms = MixtureTerms(layout().terms, n);
    return out;
}

}  // namespace gw::gas
