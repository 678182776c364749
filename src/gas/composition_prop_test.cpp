#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "gas/composition.hpp"
#include "gas/random_gas_for_tests.hpp"

namespace gw::gas {
namespace {

RC_GTEST_PROP(CompositionLaws, WhatIsWrittenIsRead, ()) {
    auto gas = random_gas(true);
    if (*rc::gen::arbitrary<bool>()) gas.characterisation = default_characterisation();
    auto const document = parse_json(to_text(composition_json(gas)), "round");
    RC_ASSERT(document.has_value());
    auto const again = read_composition(document->root());
    RC_ASSERT(again.has_value());
    RC_ASSERT(again->components == gas.components);
    RC_ASSERT(again->x == gas.x);
    for (std::size_t i = 0; i < gas.V.cells().size(); ++i)
        RC_ASSERT(again->V.cells()[i] == gas.V.cells()[i]);
    RC_ASSERT(again->characterisation.parts.size() == gas.characterisation.parts.size());
}

RC_GTEST_PROP(CompositionLaws, NormalisedTotalsAreOneAndCertain, ()) {
    auto gas = random_gas();
    double const scale = *rc::gen::inRange(80, 120) / 100.0;
    for (double& x : gas.x) x *= scale;
    auto const out = normalised(gas);
    RC_ASSERT(std::abs(out.total() - 1.0) < 1e-12);
    std::vector<double> const ones(out.x.size(), 1.0);
    double largest = 0;
    for (double const cell : gas.V.cells()) largest = std::max(largest, std::abs(cell));
    RC_ASSERT(quadratic_form(out.V, ones) <= 1e-12 * largest * static_cast<double>(out.x.size()));
    auto const twice = normalised(out);
    for (std::size_t i = 0; i < out.x.size(); ++i)
        RC_ASSERT(std::abs(twice.x[i] - out.x[i]) < 1e-14);
}

RC_GTEST_PROP(CompositionLaws, ExpandingKeepsTheTotalAndItsVariance, ()) {
    auto gas = random_gas();
    gas.components[0] = c6_plus;
    auto const out = expanded(gas, default_characterisation());
    RC_ASSERT(std::abs(out.total() - gas.total()) < 1e-12);
    double const before = quadratic_form(gas.V, std::vector<double>(gas.x.size(), 1.0));
    double const after = quadratic_form(out.V, std::vector<double>(out.x.size(), 1.0));
    RC_ASSERT(std::abs(after - before) <= 1e-9 * before + 1e-24);
}

}  // namespace
}  // namespace gw::gas
