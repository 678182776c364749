#pragma once
// Random gases for property tests: any components of the table, amounts that add up to one, and a
// covariance of any shape (a product with its own transpose).
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <numeric>
#include <set>

#include "gas/composition.hpp"

namespace gw::gas {

inline Composition random_gas(bool with_lump = false) {
    auto const last = static_cast<int>(with_lump ? component_count : real_component_count);
    auto const others = *rc::gen::container<std::set<int>>(rc::gen::inRange(1, last));
    Composition gas;
    gas.components.push_back(Component{0});
    gas.x.push_back(1.0);
    for (int const index : others) {
        gas.components.push_back(Component{static_cast<std::uint8_t>(index)});
        gas.x.push_back(*rc::gen::inRange(1, 1000) / 1e4 / static_cast<double>(others.size()));
    }
    double const sum = std::accumulate(gas.x.begin() + 1, gas.x.end(), 0.0);
    gas.x[0] = 1.0 - sum;
    std::size_t const n = gas.x.size();
    std::vector<double> A(n * n);
    for (double& a : A) a = *rc::gen::inRange(-1000, 1001) * 1e-7;
    SquareMatrix unit(n);
    for (std::size_t i = 0; i < n; ++i) unit(i, i) = 1.0;
    gas.V = congruence(A, n, unit);
    return gas;
}

}  // namespace gw::gas
