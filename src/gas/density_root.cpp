#include "gas/density_root.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

namespace gw::gas {

namespace {

// No natural gas component is denser than 3.6 times its critical density at its triple point and
// 70 MPa; beyond, the polynomials mean nothing.
constexpr double highest_delta = 4.0;
// A third-order step this small leaves an error below rounding where the isotherm is smooth;
// between the extremes of a cold isotherm nothing is taken for granted.
constexpr double smooth = 3e-6;
constexpr double wild = 1e-13, rounding = 1e-15;

// f(delta) = p / (rho_r R T) = delta (1 + A1), with f' and delta f''.
struct PressureAt {
    double f, slope, bend;
};
PressureAt pressure_at(Isotherm const& isotherm, double delta) {
    auto const A = isotherm.slopes_at(delta);
    return {delta * (1 + A.A1), 1 + A.A1 + A.A2, A.A2 + A.A3};
}

// A rising piece [low, high] with f(low) <= target <= f(high), or high not yet known to be above.
struct Refined {
    double delta{};
    bool settled = false, falling = false;
    int evaluations = 0;
};
Refined refined(Isotherm const& isotherm,
                double target,
                double low,
                double high,
                double start,
                double settled) {
    Refined out;
    double delta = std::clamp(start, low, high);
    for (int i = 0; i < 200; ++i) {
        auto const at = pressure_at(isotherm, delta);
        ++out.evaluations;
        if (!(at.slope > 0)) out.falling = true;
        double const off = at.f - target;
        if (off > 0)
            high = std::min(high, delta);
        else
            low = std::max(low, delta);
        // Halley's step; where the slope is no help, the middle
        double next = 0.5 * (low + high);
        double enough = rounding;  // a short halving says nothing of what is left
        if (at.slope > 0) {
            double const newton = off / at.slope;
            double const denominator = 1 - 0.5 * newton * at.bend / (delta * at.slope);
            // Near an extreme the third-order step shrinks to nothing however far the root is.
            bool const trusted = denominator > 0.3 && denominator < 1.7;
            double const step = trusted ? newton / denominator : newton;
            double const tried = delta - step;
            if (tried >= low && tried <= high) {
                next = tried;
                if (trusted) enough = settled;
            }
        }
        double const moved = std::abs(next - delta);
        delta = next;
        bool const at_rounding = high - low <= 4e-16 * high || std::abs(off) <= 1e-15 * target;
        if (moved <= enough * delta || at_rounding) {
            out.delta = delta;
            out.settled = true;
            return out;
        }
    }
    out.delta = delta;
    return out;
}

struct Extreme {
    double delta, f;
};

// Points between which f is monotone: both ends, and every extreme of f.
std::vector<Extreme> monotone_pieces(Isotherm const& isotherm, int& evaluations) {
    auto const at = [&](double delta) {
        ++evaluations;
        return pressure_at(isotherm, delta);
    };
    auto const zero_between = [&](double a, double b, bool of_slope) {
        bool const rising = of_slope ? at(a).slope < 0 : at(a).bend < 0;
        for (int i = 0; i < 60 && b - a > 1e-14 * b; ++i) {
            double const middle = 0.5 * (a + b);
            auto const m = at(middle);
            double const value = of_slope ? m.slope : m.bend;
            ((value < 0) == rising ? a : b) = middle;
        }
        return 0.5 * (a + b);
    };
    std::vector<Extreme> out{{0.0, 0.0}};
    double previous = 0;
    PressureAt before{0, 1, at(1e-9).bend};
    auto const visit = [&](double delta, PressureAt const& now) {
        if ((before.slope > 0) != (now.slope > 0)) {
            double const extreme = zero_between(previous, delta, true);
            out.push_back({extreme, at(extreme).f});
        }
        previous = delta;
        before = now;
    };
    for (double delta = 1e-6; delta < highest_delta;
         delta = delta < 0.3 ? delta * 1.3 : delta + 0.06) {
        auto const now = at(delta);
        // Two extremes may hide inside a step: they lie around the lowest (or highest) slope.
        if ((before.bend < 0) != (now.bend < 0) && (before.slope > 0) == (now.slope > 0)) {
            double const inside = zero_between(std::max(previous, 1e-9), delta, false);
            visit(inside, at(inside));
        }
        visit(delta, now);
    }
    out.push_back({highest_delta, at(highest_delta).f});
    return out;
}

}  // namespace

DensityRoot density_root(WideRangeMixture const& mixture,
                         Isotherm const& isotherm,
                         double T,
                         double p) {
    DensityRoot out;
    double const target = p / (mixture.reducing_density * mixture.R * T);
    if (T > mixture.single_root_above) {
        // Z = 1 + a delta at low density; where that has no root the turning point serves
        double const a = isotherm.slopes_at(1e-9).A1 / 1e-9;
        double const discriminant = 1 + 4 * a * target;
        double const start =
            discriminant > 0 ? 2 * target / (1 + std::sqrt(discriminant)) : 2 * target;
        auto const root =
            refined(isotherm, target, 0.0, highest_delta, std::min(start, 2.5), smooth);
        out.evaluations = root.evaluations + 1;
        if (!root.falling) {
            if (root.delta >= highest_delta * (1 - 1e-9)) return out.search = RootSearch::none, out;
            out.search = root.settled ? RootSearch::found : RootSearch::not_settled;
            out.rho = root.delta * mixture.reducing_density;
            out.roots = 1;
            return out;
        }
    }
    auto const pieces = monotone_pieces(isotherm, out.evaluations);
    std::vector<double> roots;
    bool gas = false;  // is the first root one of the piece that begins at nothing?
    out.search = RootSearch::none;
    for (std::size_t i = 0; i + 1 < pieces.size(); ++i) {
        if (!(pieces[i].f <= target && target <= pieces[i + 1].f && pieces[i].f < pieces[i + 1].f))
            continue;
        double const share = (target - pieces[i].f) / (pieces[i + 1].f - pieces[i].f);
        double const start =
            i == 0 ? std::min(target, pieces[1].delta)
                   : pieces[i].delta + share * (pieces[i + 1].delta - pieces[i].delta);
        auto const root =
            refined(isotherm, target, pieces[i].delta, pieces[i + 1].delta, start, wild);
        out.evaluations += root.evaluations;
        if (!root.settled) return out.search = RootSearch::not_settled, out;
        roots.push_back(root.delta);
        gas |= i == 0;
    }
    out.roots = static_cast<int>(roots.size());
    if (roots.empty()) return out;
    auto const gibbs = [&](double delta) {  // g/RT less what both roots share
        auto const A = isotherm.at(delta);
        return std::log(delta) + A.A0 + A.A1;
    };
    double best = roots.back();
    // Above that temperature a dense root is no liquid either.
    bool const gas_first = mixture.gas_only || T > mixture.single_root_above;
    if (gas && roots.size() > 1 && (gas_first || gibbs(roots.front()) <= gibbs(roots.back())))
        best = roots.front();
    out.search = RootSearch::found;
    out.rho = best * mixture.reducing_density;
    return out;
}

}  // namespace gw::gas
