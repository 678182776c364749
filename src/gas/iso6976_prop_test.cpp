#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "gas/iso6976.hpp"
#include "gas/random_gas_for_tests.hpp"

namespace gw::gas {
namespace {

Iso6976Options random_options() {
    return {static_cast<CombustionTemperature>(*rc::gen::inRange(0, 5)),
            static_cast<MeteringTemperature>(*rc::gen::inRange(0, 4)),
            kilopascal(*rc::gen::inRange(90, 111))};
}

void assert_close(Measured const& a, Measured const& b, double relative) {
    RC_ASSERT(std::abs(a.value - b.value) <= relative * std::abs(a.value) + 1e-14);
    RC_ASSERT(std::abs(a.u - b.u) <= 1e3 * relative * a.u + 1e-14);
}

RC_GTEST_PROP(Iso6976Laws, TheOrderOfComponentsDoesNotMatter, ()) {
    auto const gas = random_gas();
    auto const options = random_options();
    std::size_t const n = gas.x.size();
    Composition turned = gas;  // reversed
    for (std::size_t i = 0; i < n; ++i) {
        turned.components[i] = gas.components[n - 1 - i];
        turned.x[i] = gas.x[n - 1 - i];
        for (std::size_t j = 0; j < n; ++j) turned.V(i, j) = gas.V(n - 1 - i, n - 1 - j);
    }
    auto const a = iso6976(gas, options);
    auto const b = iso6976(turned, options);
    RC_ASSERT(a.has_value() == b.has_value());
    if (!a) return;
    for (auto const& row : quantity_rows()) {
        assert_close(a->ideal.*row.quantity, b->ideal.*row.quantity, 1e-12);
        assert_close(a->real.*row.quantity, b->real.*row.quantity, 1e-12);
    }
}

RC_GTEST_PROP(Iso6976Laws, PercentAndFractionAreTheSameGas, ()) {
    auto const gas = random_gas();
    auto json = composition_json(gas);
    json["unit"] = "mol%";
    for (auto& x : json["components"]) x = x.get<double>() * 100;
    for (auto& u : json["standard_uncertainty"]) u = u.get<double>() * 100;
    for (auto& row : json["covariance"])
        for (auto& cell : row) cell = cell.get<double>() * 1e4;
    auto const document = parse_json(to_text(json), "percent");
    auto const percent = read_composition(document->root());
    RC_ASSERT(percent.has_value());
    auto const a = iso6976(gas);
    auto const b = iso6976(*percent);
    RC_ASSERT(a.has_value() == b.has_value());
    if (!a) return;
    for (auto const& row : quantity_rows())
        assert_close(a->real.*row.quantity, b->real.*row.quantity, 1e-12);
}

RC_GTEST_PROP(Iso6976Laws, MolarAndMassValuesScaleWithTheAmount, ()) {
    auto const gas = random_gas();
    double const factor = *rc::gen::inRange(50, 150) / 100.0;
    auto scaled = gas;
    for (double& x : scaled.x) x *= factor;
    for (double& v : scaled.V.cells()) v *= factor * factor;
    auto const a = iso6976(gas);
    auto const b = iso6976(scaled);
    if (!a || !b) return;  // Z may leave its range
    auto const times = [factor](Measured const& m) {
        return Measured{m.value * factor, m.u * factor};
    };
    assert_close(times(a->ideal.molar_mass), b->ideal.molar_mass, 1e-12);
    assert_close(times(a->ideal.net_cv_molar), b->ideal.net_cv_molar, 1e-11);
    assert_close(a->ideal.gross_cv_mass, b->ideal.gross_cv_mass, 1e-12);
}

RC_GTEST_PROP(Iso6976Laws, MoreUncertainAmountsNeverGiveLessUncertainAnswers, ()) {
    auto const gas = random_gas();
    auto wider = gas;
    for (double& v : wider.V.cells()) v *= 4;
    auto const a = iso6976(gas);
    auto const b = iso6976(wider);
    if (!a) return;
    for (auto const& row : quantity_rows())
        RC_ASSERT((b->real.*row.quantity).u >= (a->real.*row.quantity).u * (1 - 1e-12));
}

RC_GTEST_PROP(Iso6976Laws, TheGradientIsTheSlope, ()) {
    auto const gas = random_gas();
    auto const options = random_options();
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

RC_GTEST_PROP(Iso6976Laws, TheGradientCarriesTheCompositionsShareOfU, ()) {
    auto const gas = random_gas();
    auto const options = random_options();
    auto const whole = iso6976(gas, options);
    if (!whole) return;
    auto const gradient = gross_cv_volume_gradient(gas, options);
    RC_ASSERT(gradient.has_value());
    double const u =
        std::hypot(gradient->value.u, std::sqrt(quadratic_form(gas.V, gradient->per_fraction)));
    RC_ASSERT(std::abs(u - whole->real.gross_cv_volume.u) <= 1e-9 * u);
}

}  // namespace
}  // namespace gw::gas
