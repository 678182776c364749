#include "gas/phase_stability.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace gw::gas {

namespace {

constexpr double unstable_below = -1e-9;  // rounding of a distance of zero is some 1e-14
constexpr int most_iterations = 1000;
constexpr double arrived = 0.01;  // ln Y: so near to a known phase a search ends in it

enum class Search { lower, nothing, not_settled };

// Successive substitution ln Y_i = d_i - ln phi_i(Y), with an extrapolation along the slowest
// direction every fifth round. Stops at a distance below zero, at the feed itself, at the phase
// known beforehand, or at a stationary point above zero.
Search search(CubicMixture const& mixture,
              std::span<double const> ln_z,
              std::span<double const> d,
              std::span<double const> known,
              double T,
              double p,
              std::vector<double> ln_Y,
              double& distance) {
    std::size_t const n = ln_z.size();
    std::vector<double> Y(n), step(n), before(n, 0.0);
    Fugacity phi;
    for (int round = 1; round <= most_iterations; ++round) {
        double total = 0;
        for (std::size_t i = 0; i < n; ++i) total += Y[i] = std::exp(ln_Y[i]);
        if (!(total > 0 && std::isfinite(total))) return Search::nothing;
        mixture.fugacity(Y, T, p, WithDerivatives::no, phi);
        double tm = 1, largest = 0, apart = 0, from_known = known.empty() ? 1 : 0;
        double dot = 0, dot_before = 0;
        for (std::size_t i = 0; i < n; ++i) {
            double const next = d[i] - phi.ln_phi[i];
            step[i] = next - ln_Y[i];
            tm -= Y[i] * (step[i] + 1);
            largest = std::max(largest, std::abs(step[i]));
            apart = std::max(apart, std::abs(next - ln_z[i]));
            if (!known.empty()) from_known = std::max(from_known, std::abs(next - known[i]));
            dot += step[i] * before[i];
            dot_before += before[i] * before[i];
        }
        distance = std::min(distance, tm);
        if (tm < unstable_below) return Search::lower;
        if (largest < 1e-10) return Search::nothing;
        if (from_known < arrived && largest < arrived) return Search::nothing;
        if (apart < 1e-4 && largest < 1e-2 * apart) return Search::nothing;
        if (apart < 1e-6) return Search::nothing;  // it has fallen back to the feed
        double stretch = 1;
        double const rate = dot_before > 0 ? dot / dot_before : 0;
        if (round % 5 == 0 && rate > 0.3 && rate < 0.999) stretch = std::min(1 / (1 - rate), 30.0);
        for (std::size_t i = 0; i < n; ++i) ln_Y[i] += stretch * step[i];
        before = step;
    }
    return Search::not_settled;
}

}  // namespace

Stability phase_stability(CubicMixture const& mixture,
                          std::span<double const> z,
                          Temperature T,
                          Pressure p,
                          std::span<double const> in_equilibrium) {
    std::size_t const n = z.size();
    Stability out;
    if (n < 2) return out;  // a pure fluid splits on a line only
    Fugacity feed;
    mixture.fugacity(z, T.si, p.si, WithDerivatives::no, feed);
    std::vector<double> ln_z(n), d(n), ln_K(n);
    for (std::size_t i = 0; i < n; ++i) {
        ln_z[i] = std::log(z[i]);
        d[i] = ln_z[i] + feed.ln_phi[i];
    }
    mixture.wilson_ln_K(T.si, p.si, ln_K);
    auto const tried = [&](std::vector<double> const& start) {
        switch (search(mixture, ln_z, d, in_equilibrium, T.si, p.si, start, out.distance)) {
            case Search::lower:
                out.stable = false;
                return true;
            case Search::not_settled:
                out.settled = false;
                break;
            case Search::nothing:
                break;
        }
        return false;
    };
    for (double const sign : {-1.0, 1.0}) {  // the liquid first: it is what gas drops
        std::vector<double> start(n);
        for (std::size_t i = 0; i < n; ++i) start[i] = ln_z[i] + sign * ln_K[i];
        if (tried(start)) return out;
    }
    // A nearly pure phase of k: the two heaviest, and what is plentiful and could be liquid.
    std::vector<std::size_t> by_weight(n);
    std::iota(by_weight.begin(), by_weight.end(), std::size_t{0});
    std::sort(by_weight.begin(), by_weight.end(), [&](std::size_t a, std::size_t b) {
        return mixture.critical_temperature(a) > mixture.critical_temperature(b);
    });
    for (std::size_t rank = 0; rank < n; ++rank) {
        auto const k = by_weight[rank];
        bool const plentiful = z[k] > 0.03 && mixture.critical_temperature(k) > 0.8 * T.si;
        if (rank > 1 && !plentiful && z[k] < 0.5) continue;
        std::vector<double> start(n);
        for (std::size_t i = 0; i < n; ++i)
            start[i] = i == k ? std::log(0.95) : std::log(0.05 * z[i]);
        if (tried(start)) return out;
    }
    return out;
}

}  // namespace gw::gas
