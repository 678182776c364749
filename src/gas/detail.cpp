#include "gas/detail.hpp"

#include <cmath>
#include <vector>

#include "detail_tables.hpp"

namespace gw::gas {

namespace {

namespace table = generated::detail;

constexpr std::size_t virial_terms = 18;   // of B
constexpr std::size_t first_density = 12;  // terms 13 to 58 are those of density

struct PairFactors {
    double E = 1, U = 1, K = 1, G = 1;
};
using Square =
    std::array<std::array<PairFactors, equation_component_count>, equation_component_count>;

Square const& pair_factors() {
    static Square const built = [] {
        Square out{};
        for (auto const& p : table::pairs) out[p.i][p.j] = out[p.j][p.i] = {p.E, p.U, p.K, p.G};
        return out;
    }();
    return built;
}

// Where each virial and each density term stands, and the linear term that terms 13 to 18 subtract.
struct Layout {
    TermLayout terms;
    std::array<std::size_t, virial_terms> virial{};
    std::array<std::size_t, table::terms.size()> density{}, subtracted{};
};

Layout const& layout() {
    static Layout const built = [] {
        Layout out;
        for (std::size_t n = 0; n < table::terms.size(); ++n) {
            auto const& t = table::terms[n];
            if (n < virial_terms) out.virial[n] = out.terms.place({}, 1, t.u);
            if (n < first_density) continue;
            out.density[n] = out.terms.place({.decay = t.c != 0 ? t.k : 0}, t.b, t.u);
            if (n < virial_terms) out.subtracted[n] = out.terms.place({}, 1, t.u);
        }
        return out;
    }();
    return built;
}

}  // namespace

WideRangeMixture detail_mixture(EquationFractions const& x) {
    WideRangeMixture out;
    out.x = x;
    out.R = table::R;
    std::vector<std::size_t> present;
    for (std::size_t i = 0; i < x.size(); ++i)
        if (x[i] > 0) present.push_back(i);

    // Mixture size K, energy U, orientation G, quadrupole Q and high-temperature parameter F.
    double size = 0, energy = 0, G = 0, Q = 0, F = 0;
    for (auto const i : present) {
        auto const& c = table::components[i];
        out.molar_mass += x[i] * c.molar_mass;
        size += x[i] * std::pow(c.K, 2.5);
        energy += x[i] * std::pow(c.E, 2.5);
        G += x[i] * c.G;
        Q += x[i] * c.Q;
        F += x[i] * x[i] * c.F;
    }
    double K5 = size * size, U5 = energy * energy;
    for (auto const i : present)
        for (auto const j : present) {
            if (j <= i) continue;
            auto const& f = pair_factors()[i][j];
            auto const &a = table::components[i], &b = table::components[j];
            double const xx = x[i] * x[j];
            if (f.K != 1) K5 += 2 * xx * (std::pow(f.K, 5) - 1) * std::pow(a.K * b.K, 2.5);
            if (f.U != 1) U5 += 2 * xx * (std::pow(f.U, 5) - 1) * std::pow(a.E * b.E, 2.5);
            if (f.G != 1) G += xx * (f.G - 1) * (a.G + b.G);
        }
    double const K3 = std::pow(K5, 0.6);
    double const U = std::pow(U5, 0.2);

    std::vector<double> n(layout().terms.size(), 0.0);
    // Second virial coefficient: B rho = (B/K^3) delta; (T/U)^-u is tau^u.
    std::array<double, virial_terms> B{};
    for (auto const i : present)
        for (auto const j : present) {
            if (j < i) continue;
            auto const& f = pair_factors()[i][j];
            auto const &a = table::components[i], &b = table::components[j];
            double const weight = (i == j ? 1 : 2) * x[i] * x[j] * std::pow(a.K * b.K, 1.5);
            double const Eij = f.E * std::sqrt(a.E * b.E);
            double const Gij = f.G * (a.G + b.G) / 2;
            double const log_ratio = std::log(Eij / U);
            for (std::size_t k = 0; k < virial_terms; ++k) {
                auto const& t = table::terms[k];
                double factor = 1;
                if (t.g != 0) factor *= Gij;
                if (t.q != 0) factor *= a.Q * b.Q;
                if (t.f != 0) factor *= a.F * b.F;
                if (t.s != 0) factor *= a.S * b.S;
                if (t.w != 0) factor *= a.W * b.W;
                if (factor != 0) B[k] += weight * factor * std::exp(t.u * log_ratio);
            }
        }
    for (std::size_t k = 0; k < virial_terms; ++k)
        n[layout().virial[k]] += table::terms[k].a * B[k] / K3;
    for (std::size_t k = first_density; k < table::terms.size(); ++k) {
        auto const& t = table::terms[k];
        double C = t.a;  // times tau^u
        if (t.g != 0) C *= G;
        if (t.q != 0) C *= Q * Q;
        if (t.f != 0) C *= F;
        n[layout().density[k]] += C;
        if (k < virial_terms) n[layout().subtracted[k]] -= C;
    }
    out.reducing_density = 1 / K3;
    out.reducing_temperature = U;
    out.single_root_above =
        1.1 * 1.26 * U;  // 1.26: critical temperature over E of the main components
    out.gas_only = true;
    out.terms = MixtureTerms(layout().terms, n);
    return out;
}

}  // namespace gw::gas
