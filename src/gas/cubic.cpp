#include "gas/cubic.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "base/text.hpp"
#include "cubic_tables.hpp"
#include "gas_tables.hpp"
#include "gerg_tables.hpp"

namespace gw::gas {

namespace {

namespace table = generated::cubic;

constexpr double R = 8.314462618;  // J/(mol K)

// The critical conditions of both forms, to the last digit rather than as rounded in print.
struct Omega {
    double a, b;
};
Omega omega_of(CubicEquation equation) {
    if (equation == CubicEquation::soave_redlich_kwong) {
        double const root = std::cbrt(2.0) - 1;
        return {1 / (9 * root), root / 3};
    }
    double const eta = 1 / (1 + std::cbrt(4 - std::sqrt(8.0)) + std::cbrt(4 + std::sqrt(8.0)));
    return {(8 + 40 * eta) / (49 - 37 * eta), eta / (3 + eta)};
}

double slope_of_alpha(CubicEquation equation, double w) {
    if (equation == CubicEquation::soave_redlich_kwong) return 0.480 + w * (1.574 - w * 0.176);
    if (w <= 0.49) return 0.37464 + w * (1.54226 - w * 0.26992);
    return 0.379642 + w * (1.48503 + w * (-0.164423 + w * 0.016666));
}

// Real roots of z^3 + c2 z^2 + c1 z + c0, ascending, each polished by Newton's step.
struct Roots {
    std::array<double, 3> z{};
    int count = 0;
};
Roots real_roots(double c2, double c1, double c0) {
    double const q = (3 * c1 - c2 * c2) / 9;
    double const r = (9 * c2 * c1 - 27 * c0 - 2 * c2 * c2 * c2) / 54;
    double const discriminant = q * q * q + r * r;
    Roots out;
    if (discriminant > 0) {
        double const root = std::sqrt(discriminant);
        // the larger of the two cube roots first: no cancellation
        double const s = std::cbrt(r >= 0 ? r + root : r - root);
        out.z[0] = (s == 0 ? 0.0 : s - q / s) - c2 / 3;
        out.count = 1;
    } else {
        double const m = 2 * std::sqrt(-q);
        double const angle =
            std::acos(std::clamp(q == 0 ? 0.0 : r / std::sqrt(-q * q * q), -1.0, 1.0)) / 3;
        constexpr double third = 2.0943951023931953;  // 2 pi / 3
        out.z = {m * std::cos(angle + third) - c2 / 3,
                 m * std::cos(angle - third) - c2 / 3,
                 m * std::cos(angle) - c2 / 3};
        std::sort(out.z.begin(), out.z.end());
        out.count = 3;
    }
    for (int i = 0; i < out.count; ++i)
        for (int k = 0; k < 3; ++k) {
            double& z = out.z[static_cast<std::size_t>(i)];
            auto const cubic = [&](double at) { return ((at + c2) * at + c1) * at + c0; };
            double const slope = (3 * z + 2 * c2) * z + c1;
            double const better = z - cubic(z) / slope;
            if (!(std::abs(cubic(better)) < std::abs(cubic(z)))) break;  // or a multiple root
            z = better;
        }
    return out;
}

}  // namespace

std::string_view name(CubicEquation equation) {
    return equation == CubicEquation::peng_robinson ? "pr" : "srk";
}

std::optional<CubicEquation> cubic_equation(std::string_view text) {
    for (auto const e : {CubicEquation::peng_robinson, CubicEquation::soave_redlich_kwong})
        if (name(e) == text) return e;
    return std::nullopt;
}

CubicMixture::CubicMixture(CubicEquation equation, std::vector<Component> components)
    : equation_(equation), components_(std::move(components)) {
    bool const pr = equation == CubicEquation::peng_robinson;
    d1_ = pr ? 1 + std::sqrt(2.0) : 1.0;
    d2_ = pr ? 1 - std::sqrt(2.0) : 0.0;
    auto const omega = omega_of(equation);
    for (auto const c : components_) {
        auto const& row = table::components[c.index];
        double const RTc = R * row.Tc, pc = row.pc * 1e3;
        pure_.push_back({row.Tc,
                         pc,
                         row.omega,
                         omega.a * RTc * RTc / pc,
                         omega.b * RTc / pc,
                         slope_of_alpha(equation, row.omega),
                         std::sqrt(omega.a * RTc * RTc / pc),
                         std::sqrt(row.Tc)});
    }
    std::size_t const n = components_.size();
    one_less_k_.assign(n * n, 1.0);
    auto const fill = [&](auto const& pairs) {
        for (auto const& pair : pairs)
            for (std::size_t i = 0; i < n; ++i)
                for (std::size_t j = 0; j < n; ++j) {
                    auto const a = components_[i].index, b = components_[j].index;
                    if ((a == pair.i && b == pair.j) || (a == pair.j && b == pair.i))
                        one_less_k_[i * n + j] = 1 - pair.k;
                }
    };
    if (pr)
        fill(table::pr);
    else
        fill(table::srk);
}

void CubicMixture::fugacity(std::span<double const> x,
                            double T,
                            double p,
                            WithDerivatives derivatives,
                            Fugacity& out,
                            Root root) const {
    std::size_t const n = size();
    double total = 0;
    for (double const amount : x) total += amount;

    // For one mole: B, D = sum x_i x_j a_ij, D_i = 2 sum x_j a_ij and their slopes in T.
    out.work.resize(7 * n);
    auto const row = [&](std::size_t k) { return out.work.data() + k * n; };
    double *const root_a = row(0), *const root_slope = row(1), *const D_i = row(2),
                  *const D_iT = row(3), *const X = row(4), *const p_i = row(5),
                  *const D_ij = row(6);
    double const root_T = std::sqrt(T);
    double B = 0;
    for (std::size_t i = 0; i < n; ++i) {
        auto const& pure = pure_[i];
        X[i] = x[i] / total;
        double const cooling = pure.root_ac * pure.m / pure.root_Tc * root_T;
        root_a[i] = pure.root_ac * (1 + pure.m) - cooling;
        root_slope[i] = -cooling / (2 * T);
        B += X[i] * pure.b;
    }
    double D = 0, D_T = 0;
    for (std::size_t i = 0; i < n; ++i) {
        double const* const factor = one_less_k_.data() + i * n;
        double sum = 0, sum_T = 0;
        for (std::size_t j = 0; j < n; ++j) {
            double const w = X[j] * factor[j];
            sum += w * root_a[j];
            sum_T += w * root_slope[j];
        }
        D_i[i] = 2 * root_a[i] * sum;
        D_iT[i] = 2 * (root_slope[i] * sum + root_a[i] * sum_T);
        D += 0.5 * X[i] * D_i[i];
        D_T += 0.5 * X[i] * D_iT[i];
    }

    double const RT = R * T;
    double const a = D * p / (RT * RT), b = B * p / RT;
    double const s = d1_ + d2_, t = d1_ * d2_;
    auto const roots = real_roots(
        b * (s - 1) - 1, a + t * b * b - s * b * (b + 1), -(t * (b * b * b + b * b) + a * b));
    // g/RT of a root less what all roots share
    auto const gibbs = [&](double z) {
        return z - std::log(z - b) -
               a / ((d1_ - d2_) * b) * std::log((z + d1_ * b) / (z + d2_ * b));
    };
    double Z = roots.z[static_cast<std::size_t>(roots.count - 1)];
    if (roots.count == 3 && roots.z[0] > b && root != Root::vapour &&
        (root == Root::liquid || gibbs(roots.z[0]) < gibbs(Z)))
        Z = roots.z[0];
    out.Z = Z;

    double const V = Z * RT / p;
    double const v1 = V + d1_ * B, v2 = V + d2_ * B, free = V - B;
    double const scale = 1 / (R * B * (d1_ - d2_));
    double const f = scale * std::log(v1 / v2);
    double const f_V = scale * (1 / v1 - 1 / v2);
    double const f_B = -(f + V * f_V) / B;
    double const g = std::log(free / V), g_B = -1 / free;
    double const F_n = -g, F_B = -g_B - D / T * f_B, F_D = -f / T;
    double const ln_Z = std::log(Z);
    out.ln_phi.resize(n);
    for (std::size_t i = 0; i < n; ++i)
        out.ln_phi[i] = F_n + F_B * pure_[i].b + F_D * D_i[i] - ln_Z;
    if (derivatives == WithDerivatives::no) return;

    double const f_VV = scale * (1 / (v2 * v2) - 1 / (v1 * v1));
    double const f_BV = -(2 * f_V + V * f_VV) / B;
    double const f_BB = -(2 * f_B + V * f_BV) / B;
    double const g_V = 1 / free - 1 / V, g_VV = 1 / (V * V) - 1 / (free * free);
    double const g_BV = 1 / (free * free), g_BB = -g_BV;
    double const F_VV = -g_VV - D / T * f_VV, F_BV = -g_BV - D / T * f_BV,
                 F_BB = -g_BB - D / T * f_BB;
    double const F_DV = -f_V / T, F_DB = -f_B / T, F_nV = -g_V, F_nB = -g_B;
    double const F_DT = f / (T * T), F_BT = D * f_B / (T * T), F_VT = D * f_V / (T * T);
    double const p_V = -RT * F_VV - RT / (V * V);
    double const p_T = -RT * (F_VT + F_DV * D_T) + p / T;
    for (std::size_t i = 0; i < n; ++i)
        p_i[i] = -RT * (F_nV + F_BV * pure_[i].b + F_DV * D_i[i]) + RT / V;
    out.d_T.resize(n);
    out.d_p.resize(n);
    for (std::size_t i = 0; i < n; ++i) {
        double const V_i = -p_i[i] / p_V;
        double const F_iT = (F_BT + F_DB * D_T) * pure_[i].b + F_DT * D_i[i] + F_D * D_iT[i];
        out.d_p[i] = V_i / RT - 1 / p;
        out.d_T[i] = F_iT + 1 / T - V_i * p_T / RT;
    }
    if (derivatives == WithDerivatives::of_state) return;

    out.d_n.resize(n * n);
    double const share = 1 / (RT * p_V);
    for (std::size_t i = 0; i < n; ++i) {
        double const bi = pure_[i].b;
        double const* const factor = one_less_k_.data() + i * n;
        double* const d = out.d_n.data() + i * n;
        for (std::size_t j = 0; j < n; ++j) D_ij[j] = 2 * root_a[i] * root_a[j] * factor[j];
        for (std::size_t j = 0; j < n; ++j) {
            double const bj = pure_[j].b;
            d[j] = F_nB * (bi + bj) + F_DB * (bi * D_i[j] + bj * D_i[i]) + F_BB * bi * bj +
                   F_D * D_ij[j] + 1 + p_i[i] * p_i[j] * share;
        }
    }
}

void CubicMixture::wilson_ln_K(double T, double p, std::span<double> out) const {
    for (std::size_t i = 0; i < size(); ++i)  // G. M. Wilson (1968)
        out[i] = std::log(pure_[i].pc / p) + 5.373 * (1 + pure_[i].omega) * (1 - pure_[i].Tc / T);
}

Result<CubicGas> cubic_gas(Composition const& gas, CubicEquation equation) {
    static auto const water = *find_component("water");
    std::array<double, real_component_count> amount{};
    std::vector<std::string> stand_ins;
    double total = 0;
    bool wet = false;
    for (std::size_t k = 0; k < gas.x.size(); ++k) {
        auto const c = gas.components[k];
        if (c == c6_plus)
            return fail(Errc::bad_input,
                        "C6+ has no properties of its own.",
                        "composition",
                        "state how it is split");
        if (!(gas.x[k] >= 0))
            return fail(Errc::bad_input,
                        fmt::format("The amount of {} is negative.", name(c)),
                        "composition",
                        "correct it");
        if (gas.x[k] == 0) continue;
        if (c == water) {
            wet = true;
            continue;
        }
        std::size_t place = c.index;
        if (!table::components[place].listed) {
            std::size_t other = 0;
            auto const& places = generated::gerg::places;
            while (places[other].index != places[place].index || !places[other].itself) ++other;
            stand_ins.push_back(fmt::format("{} as {}", name(c), generated::names[other]));
            place = other;
        }
        amount[place] += gas.x[k];
        total += gas.x[k];
    }
    if (!(total > 0 && std::isfinite(total)))
        return fail(Errc::bad_input,
                    "Nothing but water is left of this gas.",
                    "composition",
                    "state the amounts");
    std::vector<Component> components;
    std::vector<double> z;
    for (std::size_t i = 0; i < amount.size(); ++i)
        if (amount[i] > 0) {
            components.push_back({static_cast<std::uint8_t>(i)});
            z.push_back(amount[i] / total);
        }
    CubicGas out{CubicMixture(equation, std::move(components)), std::move(z), {}};
    if (wet)
        out.warnings.emplace_back(
            "Water was left out: a cubic equation says nothing useful of it.");
    if (!stand_ins.empty())
        out.warnings.push_back(
            fmt::format("Components without critical constants were counted as others: {}.",
                        joined(stand_ins, ", ")));
    return out;
}

}  // namespace gw::gas
