#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>

#include "gas/equation_of_state.hpp"
#include "gas/plain_wide_range_for_tests.hpp"
#include "gas/random_gas_for_tests.hpp"

namespace gw::gas {
namespace {

struct Drawn {
    PreparedGas gas;
    double T, p;
};

// A natural gas (methane leads, as random_gas makes it) at a state that is gas or dense fluid.
Drawn drawn() {
    auto const equation = *rc::gen::element(WideRangeEquation::gerg2008, WideRangeEquation::detail);
    auto const gas = prepared(random_gas(), equation);
    RC_ASSERT(gas.has_value());
    return {*gas,
            *rc::gen::inRange(25000, 45000) / 100.0,
            std::pow(10.0, *rc::gen::inRange(-200, 480) / 100.0)};
}

bool near(double a, double b, double relative) {
    return std::abs(a - b) <= relative * std::max(std::abs(a), std::abs(b));
}

RC_GTEST_PROP(WideRangeLaws, ThePressureOfTheDensityIsThePressure, ()) {
    auto const d = drawn();
    auto const rho = molar_density(d.gas, kelvin(d.T), kilopascal(d.p));
    RC_ASSERT(rho.has_value());
    RC_ASSERT(near(state_at_density(d.gas, kelvin(d.T), *rho).pressure_kpa, d.p, 1e-11));
}

RC_GTEST_PROP(WideRangeLaws, TheGatheredSumIsThePlainOne, ()) {
    auto const d = drawn();
    auto const& m = d.gas.mixture;
    double const rho = *rc::gen::inRange(1, 2000) / 100.0;
    double const delta = rho / m.reducing_density;
    auto const fast = Isotherm(m.terms, m.reducing_temperature / d.T).at(delta);
    auto const plain = d.gas.equation == WideRangeEquation::gerg2008
                           ? plain::gerg(m.x, plain::gerg_reducing(m.x), d.T, rho)
                           : plain::detail(m.x, d.T, rho);
    double const scale = 1 + delta * delta;  // terms cancel to what is left
    RC_ASSERT(std::abs(fast.A0 - plain.alpha) <= 1e-12 * scale * (1 + std::abs(plain.alpha)));
    RC_ASSERT(std::abs(fast.A1 - plain.D1) <= 1e-11 * scale * (1 + std::abs(plain.D1)));
    RC_ASSERT(std::abs(fast.A2 - plain.D2) <= 1e-10 * scale * (1 + std::abs(plain.D2)));
}

RC_GTEST_PROP(WideRangeLaws, CpExceedsCvAndPressureRisesWithDensity, ()) {
    auto const d = drawn();
    auto const s = fluid_state(d.gas, kelvin(d.T), kilopascal(d.p));
    RC_ASSERT(s.has_value());
    RC_ASSERT(s->cp > s->cv);
    RC_ASSERT(s->cv > 0);
    RC_ASSERT(s->dp_drho > 0);
    RC_ASSERT(s->speed_of_sound > 50 && s->speed_of_sound < 5000);
}

RC_GTEST_PROP(WideRangeLaws, AtLowPressureTheGasIsIdeal, ()) {
    auto const d = drawn();
    auto const s = fluid_state(d.gas, kelvin(d.T), pascal(0.01));
    RC_ASSERT(s.has_value());
    double const R = d.gas.mixture.R;
    RC_ASSERT(near(s->compression_factor, 1.0, 1e-7));
    RC_ASSERT(near(s->cp - s->cv, R, 1e-6));
    RC_ASSERT(near(s->isentropic_exponent, s->cp / s->cv, 1e-6));
    RC_ASSERT(
        near(s->speed_of_sound, std::sqrt(s->cp / s->cv * R * d.T / d.gas.molar_mass * 1e3), 1e-6));
}

RC_GTEST_PROP(WideRangeLaws, DerivativesAreTheSlopes, ()) {
    auto const d = drawn();
    auto const s = fluid_state(d.gas, kelvin(d.T), kilopascal(d.p));
    RC_ASSERT(s.has_value());
    double const rho = s->molar_density;
    auto const at = [&](double T, double density) {
        return state_at_density(d.gas, kelvin(T), density);
    };
    double const h = 1e-4 * rho, k = 1e-3 * d.T / 100;
    auto const above = at(d.T, rho + h), below = at(d.T, rho - h);
    auto const hot = at(d.T + k, rho), cold = at(d.T - k, rho);
    // a difference of large figures carries their rounding
    auto const slope_is = [](double high, double low, double step, double value) {
        double const noise = 1e-14 * std::max(std::abs(high), std::abs(low)) / step;
        return std::abs((high - low) / (2 * step) - value) <= 1e-5 * std::abs(value) + noise;
    };
    RC_ASSERT(slope_is(above.pressure_kpa, below.pressure_kpa, h, s->dp_drho));
    RC_ASSERT(slope_is(hot.pressure_kpa, cold.pressure_kpa, k, s->dp_dT));
    RC_ASSERT(slope_is(hot.internal_energy, cold.internal_energy, k, s->cv));
    RC_ASSERT(slope_is(hot.entropy, cold.entropy, k, s->cv / d.T));
    // Maxwell: (ds/drho)_T = -(dp/dT)_rho / rho^2
    RC_ASSERT(slope_is(above.entropy, below.entropy, h, -s->dp_dT / (rho * rho)));
    // pressure from the Helmholtz energy: rho^2 (da/drho)_T, a = u - T s
    RC_ASSERT(slope_is(above.internal_energy - d.T * above.entropy,
                       below.internal_energy - d.T * below.entropy,
                       h,
                       s->pressure_kpa / (rho * rho)) ||
              d.p < 100);  // where a is all but constant
    RC_ASSERT(near(s->enthalpy - s->internal_energy, s->pressure_kpa / rho, 1e-9) ||
              std::abs(s->enthalpy) > 1e5 * s->pressure_kpa / rho);
    RC_ASSERT(near(s->gibbs_energy, s->enthalpy - d.T * s->entropy, 1e-9));
}

RC_GTEST_PROP(WideRangeLaws, JouleThomsonIsTheSlopeOfAnIsenthalp, ()) {
    auto const d = drawn();
    auto const s = fluid_state(d.gas, kelvin(d.T), kilopascal(d.p));
    RC_ASSERT(s.has_value());
    double const step = 1e-3 * d.p;
    double const dT = s->joule_thomson * step;
    auto const above = fluid_state(d.gas, kelvin(d.T + dT), kilopascal(d.p + step));
    auto const below = fluid_state(d.gas, kelvin(d.T - dT), kilopascal(d.p - step));
    RC_ASSERT(above.has_value() && below.has_value());
    RC_ASSERT(std::abs(above->enthalpy - below->enthalpy) <=
              1e-4 * s->cp * std::abs(dT) + 1e-9 * (1 + std::abs(s->enthalpy)));
}

RC_GTEST_PROP(WideRangeLaws, TheOrderOfComponentsDoesNotMatter, ()) {
    auto const gas = random_gas();
    auto turned = gas;
    std::reverse(turned.components.begin(), turned.components.end());
    std::reverse(turned.x.begin(), turned.x.end());
    auto const equation = *rc::gen::element(WideRangeEquation::gerg2008, WideRangeEquation::detail);
    auto const a = prepared(gas, equation), b = prepared(turned, equation);
    RC_ASSERT(a.has_value() && b.has_value());
    RC_ASSERT(near(*molar_density(*a, kelvin(300), kilopascal(6000)),
                   *molar_density(*b, kelvin(300), kilopascal(6000)),
                   1e-12));
}

RC_GTEST_PROP(WideRangeLaws, NoStateHangsOrPassesAWrongRootOff, ()) {
    auto const equation = *rc::gen::element(WideRangeEquation::gerg2008, WideRangeEquation::detail);
    EquationFractions x{};
    double sum = 0;
    for (double& share : x)
        sum += share = *rc::gen::inRange(0, 3) == 0 ? *rc::gen::inRange(0, 1000) / 1e3 : 0.0;
    RC_PRE(sum > 0);
    Composition gas;
    static char const* const names[] = {
        "methane",   "nitrogen",        "carbon dioxide", "ethane",           "propane",
        "isobutane", "n-butane",        "isopentane",     "n-pentane",        "n-hexane",
        "n-heptane", "n-octane",        "n-nonane",       "n-decane",         "hydrogen",
        "oxygen",    "carbon monoxide", "water",          "hydrogen sulfide", "helium",
        "argon"};
    for (std::size_t i = 0; i < x.size(); ++i)
        if (x[i] > 0) {
            gas.components.push_back(*find_component(names[i]));
            gas.x.push_back(x[i] / sum);
        }
    auto const ready = prepared(gas, equation);
    RC_ASSERT(ready.has_value());
    double const T = *rc::gen::inRange(6000, 70000) / 100.0, p = *rc::gen::inRange(1, 70000);
    auto const s = fluid_state(*ready, kelvin(T), kilopascal(p));
    if (!s) return;  // an honest sentence
    RC_ASSERT(s->dp_drho > 0 && s->cv > 0);
    // the density itself must be exact to rounding: what is left of the pressure, over its slope
    RC_ASSERT(std::abs(s->pressure_kpa - p) <= 1e-9 * s->dp_drho * s->molar_density);
}

}  // namespace
}  // namespace gw::gas
