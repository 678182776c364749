#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

#include "gas/gpa2172.hpp"
#include "gas/random_gas_for_tests.hpp"

namespace gw::gas {
namespace {

RC_GTEST_PROP(Gpa2172Laws, TheOrderOfComponentsDoesNotMatter, ()) {
    auto const gas = random_gas();
    std::size_t const n = gas.x.size();
    Composition turned = gas;
    for (std::size_t i = 0; i < n; ++i) {
        turned.components[i] = gas.components[n - 1 - i];
        turned.x[i] = gas.x[n - 1 - i];
        for (std::size_t j = 0; j < n; ++j) turned.V(i, j) = gas.V(n - 1 - i, n - 1 - j);
    }
    auto const a = gpa2172(gas);
    auto const b = gpa2172(turned);
    RC_ASSERT(a.has_value() == b.has_value());
    if (!a) return;
    for (auto const& row : us_quantity_rows()) {
        auto const &p = a->real.*row.quantity, &q = b->real.*row.quantity;
        RC_ASSERT(std::abs(p.value - q.value) <= 1e-12 * std::abs(p.value));
        RC_ASSERT(std::abs(p.u - q.u) <= 1e-9 * p.u + 1e-14);
    }
}

RC_GTEST_PROP(Gpa2172Laws, TheGradientIsTheSlope, ()) {
    auto const gas = random_gas();
    Gpa2172Options const options{kilopascal(*rc::gen::inRange(85, 116))};
    auto const answer = gross_cv_volume_gradient(gas, options);
    if (!answer) return;
    double const step = 1e-6;
    for (std::size_t i = 0; i < gas.x.size(); ++i) {
        auto above = gas;
        auto below = gas;
        above.x[i] += step;
        below.x[i] -= step;
        auto const high = gross_cv_volume_gradient(above, options);
        auto const low = gross_cv_volume_gradient(below, options);
        if (!high || !low) return;
        double const slope = (high->value.value - low->value.value) / (2 * step);
        RC_ASSERT(std::abs(slope - answer->per_fraction[i]) <= 1e-6 * (1.0 + std::abs(slope)));
    }
}

RC_GTEST_PROP(Gpa2172Laws, TheUncertaintyIsTheCovarianceThroughTheGradient, ()) {
    auto const gas = random_gas();
    auto const whole = gpa2172(gas);
    if (!whole) return;
    auto const gradient = gross_cv_volume_gradient(gas, Gpa2172Options{});
    RC_ASSERT(gradient.has_value());
    double const u = std::sqrt(quadratic_form(gas.V, gradient->per_fraction));
    RC_ASSERT(std::abs(u - whole->real.gross_cv_volume.u) <= 1e-9 * u + 1e-15);
}

}  // namespace
}  // namespace gw::gas
