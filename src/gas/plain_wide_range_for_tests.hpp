#pragma once
// GERG-2008 and AGA 8 DETAIL as their publications print them: every term of every component at
// every call, powers by pow. The measure of what equation_of_state.hpp must equal and by how much
// it is faster; tests and benchmarks only.
#include <cmath>

#include "detail_tables.hpp"
#include "gas/wide_range.hpp"
#include "gerg_tables.hpp"

namespace gw::gas::plain {

struct Sum {
    double alpha = 0, D1 = 0, D2 = 0;  // alpha_r, delta d/d delta, and that operator twice
    void add(double term, double u, double Du) {  // u = D ln(term)
        alpha += term;
        D1 += u * term;
        D2 += (u * u + Du) * term;
    }
};

struct Reduced {
    double rho_r = 0, T_r = 0;
};
inline Reduced gerg_reducing(EquationFractions const& x) {
    namespace table = generated::gerg;
    double T = 0, v = 0;
    for (std::size_t i = 0; i < x.size(); ++i) {
        T += x[i] * x[i] * table::components[i].Tc;
        v += x[i] * x[i] / table::components[i].rhoc;
    }
    for (auto const& p : table::pairs) {
        double const xi = x[p.i], xj = x[p.j];
        if (xi == 0 || xj == 0) continue;
        auto const &a = table::components[p.i], &b = table::components[p.j];
        double const v_ij =
            std::pow(std::pow(a.rhoc, -1.0 / 3) + std::pow(b.rhoc, -1.0 / 3), 3) / 8;
        v +=
            2 * xi * xj * p.beta_v * p.gamma_v * (xi + xj) / (p.beta_v * p.beta_v * xi + xj) * v_ij;
        T += 2 * xi * xj * p.beta_T * p.gamma_T * (xi + xj) / (p.beta_T * p.beta_T * xi + xj) *
             std::sqrt(a.Tc * b.Tc);
    }
    return {1 / v, T};
}

inline Sum gerg(EquationFractions const& x, Reduced const& r, double T, double rho) {
    namespace table = generated::gerg;
    double const delta = rho / r.rho_r, tau = r.T_r / T;
    Sum out;
    for (std::size_t i = 0; i < x.size(); ++i) {
        if (x[i] == 0) continue;
        auto const& c = table::components[i];
        for (std::size_t k = 0; k < c.terms; ++k) {
            auto const& e = table::exponents[c.first_exponent + k];
            double const q = e.c == 0 ? 0.0 : std::pow(delta, e.c);
            double const term = x[i] * table::coefficients[c.first_coefficient + k] *
                                std::pow(delta, e.d) * std::pow(tau, e.t) * std::exp(-q);
            out.add(term, e.d - e.c * q, -e.c * e.c * q);
        }
    }
    for (auto const& p : table::pairs) {
        if (p.F == 0 || x[p.i] == 0 || x[p.j] == 0) continue;
        auto const& f = table::departures[p.departure];
        for (std::size_t k = f.first; k < std::size_t{f.first} + f.terms; ++k) {
            auto const& e = table::departure_terms[k];
            double const off = delta - e.epsilon;
            double const term = x[p.i] * x[p.j] * p.F * e.n * std::pow(delta, e.d) *
                                std::pow(tau, e.t) *
                                std::exp(-e.eta * off * off - e.beta * (delta - e.gamma));
            out.add(term,
                    e.d - 2 * e.eta * off * delta - e.beta * delta,
                    -2 * e.eta * delta * (2 * delta - e.epsilon) - e.beta * delta);
        }
    }
    return out;
}

inline Sum detail(EquationFractions const& x, double T, double rho) {
    namespace table = generated::detail;
    constexpr std::size_t n = equation_component_count;
    static auto const factors = [] {
        std::array<std::array<std::array<double, 4>, n>, n> f{};
        for (auto& row : f)
            for (auto& cell : row) cell = {1, 1, 1, 1};
        for (auto const& p : table::pairs) f[p.i][p.j] = f[p.j][p.i] = {p.E, p.U, p.K, p.G};
        return f;
    }();
    double K5 = 0, U5 = 0, G = 0, Q = 0, F = 0, B = 0;
    for (std::size_t i = 0; i < n; ++i) {
        auto const& a = table::components[i];
        G += x[i] * a.G;
        Q += x[i] * a.Q;
        F += x[i] * x[i] * a.F;
        for (std::size_t j = 0; j < n; ++j) {
            if (x[i] == 0 || x[j] == 0) continue;
            auto const& b = table::components[j];
            auto const& f = factors[i][j];
            K5 += x[i] * x[j] * std::pow(f[2], i == j ? 0 : 5) * std::pow(a.K * b.K, 2.5);
            U5 += x[i] * x[j] * std::pow(f[1], i == j ? 0 : 5) * std::pow(a.E * b.E, 2.5);
            if (j > i) G += x[i] * x[j] * (f[3] - 1) * (a.G + b.G);
            double const Eij = f[0] * std::sqrt(a.E * b.E), Gij = f[3] * (a.G + b.G) / 2;
            for (std::size_t k = 0; k < 18; ++k) {
                auto const& t = table::terms[k];
                B += x[i] * x[j] * t.a * std::pow(T / Eij, -t.u) * std::pow(a.K * b.K, 1.5) *
                     std::pow(Gij, t.g) * std::pow(a.Q * b.Q, t.q) * std::pow(a.F * b.F, t.f) *
                     std::pow(a.S * b.S, t.s) * std::pow(a.W * b.W, t.w);
            }
        }
    }
    double const d = std::pow(K5, 0.6) * rho, U = std::pow(U5, 0.2);
    Sum out;
    out.add(B * rho, 1, 0);
    for (std::size_t k = 12; k < table::terms.size(); ++k) {
        auto const& t = table::terms[k];
        double const C =
            t.a * std::pow(U / T, t.u) * std::pow(G, t.g) * std::pow(Q, 2 * t.q) * std::pow(F, t.f);
        if (k < 18) out.add(-C * d, 1, 0);
        double const q = t.c == 0 ? 0.0 : std::pow(d, t.k);
        out.add(C * std::pow(d, t.b) * std::exp(-q), t.b - t.k * q, -double(t.k) * t.k * q);
    }
    return out;
}

// Newton's step on pressure from the ideal-gas density, to a relative change of 1e-12.
template <class Alpha>
double density(Alpha const& alpha, double R, double T, double p) {
    double rho = p / (R * T);
    for (int i = 0; i < 50; ++i) {
        Sum const s = alpha(rho);
        double const step = (rho * R * T * (1 + s.D1) - p) / (R * T * (1 + s.D1 + s.D2));
        rho -= step;
        if (std::abs(step) < 1e-12 * rho) break;
    }
    return rho;
}

}  // namespace gw::gas::plain
