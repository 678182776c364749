#pragma once
// The gases every benchmark of this folder uses.
#include <utility>
#include <vector>

#include "gas/gas.hpp"

namespace gw::gas::perf {

inline Composition gas_of(std::vector<std::pair<char const*, double>> const& amounts) {
    Composition gas;
    for (auto const& [name, x] : amounts) {
        gas.components.push_back(*find_component(name));
        gas.x.push_back(x);
    }
    return normalised(gas);
}

/// A typical pipeline gas of 11 components, invented.
inline Composition eleven() {
    return gas_of({{"methane", 0.90},
                   {"nitrogen", 0.015},
                   {"carbon dioxide", 0.011},
                   {"ethane", 0.045},
                   {"propane", 0.018},
                   {"isobutane", 0.003},
                   {"n-butane", 0.004},
                   {"isopentane", 0.0015},
                   {"n-pentane", 0.001},
                   {"n-hexane", 0.001},
                   {"n-heptane", 0.0005}});
}

/// The 21-component test gas of AGA 8 (data/published/aga8.json).
inline Composition twenty_one() {
    return gas_of({{"methane", 0.77824},
                   {"nitrogen", 0.02},
                   {"carbon dioxide", 0.06},
                   {"ethane", 0.08},
                   {"propane", 0.03},
                   {"isobutane", 0.0015},
                   {"n-butane", 0.003},
                   {"isopentane", 0.0005},
                   {"n-pentane", 0.00165},
                   {"n-hexane", 0.00215},
                   {"n-heptane", 0.00088},
                   {"n-octane", 0.00024},
                   {"n-nonane", 0.00015},
                   {"n-decane", 0.00009},
                   {"hydrogen", 0.004},
                   {"oxygen", 0.005},
                   {"carbon monoxide", 0.002},
                   {"water", 0.0001},
                   {"hydrogen sulfide", 0.0025},
                   {"helium", 0.007},
                   {"argon", 0.001}});
}

/// eleven() with a full covariance: independent errors of 0.1 % through the normalisation.
inline Composition eleven_with_covariance() {
    auto gas = eleven();
    std::vector<double> u;
    for (double const x : gas.x) u.push_back(1e-3 * x + 1e-6);
    gas.V = SquareMatrix::of_standard_uncertainties(u);
    return normalised(gas);
}

}  // namespace gw::gas::perf
