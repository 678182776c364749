#include "gas/phase_envelope.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

#include "gas/phase_stability.hpp"

namespace gw::gas {
namespace {

Composition gas_of(std::vector<std::pair<char const*, double>> const& amounts) {
    Composition gas;
    for (auto const& [name, x] : amounts) {
        gas.components.push_back(*find_component(name));
        gas.x.push_back(x);
    }
    return gas;
}

constexpr CubicEquation both[] = {CubicEquation::peng_robinson, CubicEquation::soave_redlich_kwong};

// Every dew temperature lies where the tangent-plane test, which knows nothing of the line, changes
// its mind.
void expect_boundary(CubicGas const& gas, double T, double p) {
    auto const stable = [&](double t) {
        return phase_stability(gas.mixture, gas.z, kelvin(t), pascal(p)).stable;
    };
    EXPECT_NE(stable(T + 0.01), stable(T - 0.01)) << T << " K, " << p << " Pa";
}

TEST(PhaseEnvelope, RichGasHasTwoDewPointsBetweenCriticalPressureAndCricondenbar) {
    for (auto const equation : both) {
        auto const gas = cubic_gas(gas_of({{"methane", 0.85},
                                           {"ethane", 0.08},
                                           {"propane", 0.04},
                                           {"n-butane", 0.015},
                                           {"n-pentane", 0.008},
                                           {"n-hexane", 0.004},
                                           {"n-heptane", 0.002},
                                           {"n-octane", 0.001}}),
                                   equation);
        ASSERT_TRUE(gas);
        auto const line = phase_envelope(gas->mixture, gas->z);
        ASSERT_TRUE(line) << one_line(line.error());
        EXPECT_EQ(line->end(), EnvelopeEnd::closed);
        ASSERT_TRUE(line->cricondentherm() && line->cricondenbar() && line->critical());
        EXPECT_LT(line->critical()->p, line->cricondenbar()->p);
        EXPECT_LT(line->critical()->T, line->cricondenbar()->T);
        EXPECT_LT(line->cricondenbar()->T, line->cricondentherm()->T);
        double const middle = 0.5 * (line->critical()->p + line->cricondenbar()->p);
        auto const two = line->dew_temperatures(middle);
        ASSERT_EQ(two.size(), 2U);
        EXPECT_GT(two[0], two[1]);
        for (double const T : two) expect_boundary(*gas, T, middle);
        EXPECT_EQ(line->dew_temperatures(1e6).size(), 1U);
        EXPECT_TRUE(line->dew_temperatures(1.001 * line->cricondenbar()->p).empty());
        for (auto const& point : line->points()) {
            EXPECT_LE(point.at.T, line->cricondentherm()->T * (1 + 1e-9));
            EXPECT_LE(point.at.p, line->cricondenbar()->p * (1 + 1e-9));
        }
    }
}

TEST(PhaseEnvelope, TheCriticalPointIsWhereTheBranchesMeet) {
    auto const gas =
        cubic_gas(gas_of({{"methane", 0.95}, {"n-butane", 0.05}}), CubicEquation::peng_robinson);
    ASSERT_TRUE(gas);
    auto const line = phase_envelope(gas->mixture, gas->z);
    ASSERT_TRUE(line && line->critical());
    PhaseEnvelope::Point const* last_dew = nullptr;
    PhaseEnvelope::Point const* first_bubble = nullptr;
    for (auto const& point : line->points())
        if (point.dew)
            last_dew = &point;
        else if (first_bubble == nullptr)
            first_bubble = &point;
    ASSERT_TRUE(last_dew != nullptr && first_bubble != nullptr);
    EXPECT_GT(line->critical()->T, first_bubble->at.T);
    EXPECT_LT(line->critical()->T, last_dew->at.T);
    EXPECT_NEAR(last_dew->at.T, first_bubble->at.T, 3.0);
}

// Boiling points at 101.325 kPa by the reference equations of state: methane 111.667 K (Setzmann
// and Wagner 1991), propane 231.036 K (Lemmon, McLinden and Wagner 2009), both from memory. The
// cubic equations give vapour pressures to about 1 %.
TEST(PhaseEnvelope, APureFluidHasItsVapourPressureLine) {
    for (auto const equation : both)
        for (auto const& [name, boils] : {std::pair("methane", 111.667), {"propane", 231.036}}) {
            auto const gas = cubic_gas(gas_of({{name, 1.0}}), equation);
            ASSERT_TRUE(gas);
            auto const line = phase_envelope(gas->mixture, gas->z);
            ASSERT_TRUE(line);
            auto const T = line->dew_temperatures(101325);
            ASSERT_EQ(T.size(), 1U) << name;
            EXPECT_NEAR(T[0], boils, 0.35) << name;
            EXPECT_DOUBLE_EQ(line->critical()->T, gas->mixture.critical_temperature(0));
            EXPECT_DOUBLE_EQ(line->cricondenbar()->p, gas->mixture.critical_pressure(0));
            EXPECT_TRUE(line->dew_temperatures(1.01 * line->critical()->p).empty());
            for (std::size_t k = 1; k < line->points().size(); ++k)
                EXPECT_GT(line->points()[k].at.T, line->points()[k - 1].at.T);
            // A hundredth of a kelvin to each side the other phase is the stable one.
            Fugacity vapour, liquid;
            for (double const side : {-0.01, 0.01}) {
                gas->mixture.fugacity(
                    gas->z, T[0] + side, 101325, WithDerivatives::no, vapour, Root::vapour);
                gas->mixture.fugacity(
                    gas->z, T[0] + side, 101325, WithDerivatives::no, liquid, Root::liquid);
                EXPECT_GT((liquid.ln_phi[0] - vapour.ln_phi[0]) * side, 0);
            }
        }
}

// A component and a trace of itself in another guise: the dew point of nearly pure propane is its
// vapour pressure, 101.325 kPa at 231.036 K (data/gas/critical_constants.json holds what the
// equation needs; boiling point: reference equation of state of propane). Peng-Robinson is good to
// 1 %.
TEST(PhaseEnvelope, NearlyPurePropaneBoilsWherePropaneDoes) {
    auto const gas = cubic_gas(gas_of({{"propane", 0.999999}, {"isobutane", 0.000001}}),
                               CubicEquation::peng_robinson);
    ASSERT_TRUE(gas);
    auto const line = phase_envelope(gas->mixture, gas->z);
    ASSERT_TRUE(line);
    auto const T = line->dew_temperatures(101.325e3);
    ASSERT_EQ(T.size(), 1U);
    EXPECT_NEAR(T[0], 231.036, 0.4);
}

TEST(PhaseEnvelope, NearlyPureGasesAreFollowedOverTheirCriticalPoint) {
    struct Pair {
        char const *most, *trace;
        double Tc;  // K; data/gas/critical_constants.json
    };
    for (auto const& [most, trace, Tc] : {Pair{"propane", "isobutane", 369.89},
                                          Pair{"methane", "nitrogen", 190.564},
                                          Pair{"methane", "ethane", 190.564}})
        for (double const x : {1e-2, 1e-3, 1e-4, 1e-5, 1e-6}) {
            auto const gas =
                cubic_gas(gas_of({{most, 1 - x}, {trace, x}}), CubicEquation::peng_robinson);
            ASSERT_TRUE(gas);
            auto const line = phase_envelope(gas->mixture, gas->z);
            ASSERT_TRUE(line) << most << " " << trace << " " << x;
            EXPECT_EQ(line->end(), EnvelopeEnd::closed) << most << " " << trace << " " << x;
            ASSERT_TRUE(line->critical()) << most << " " << trace << " " << x;
            EXPECT_NEAR(line->critical()->T, Tc, 0.15 + 250 * x);
        }
}

// Cold methane with a hundredth of hexane drops two liquids: the dew line ends there, and every
// point that is told is one where the gas has not split before.
TEST(PhaseEnvelope, EndsWhereTwoLiquidsFall) {
    auto const gas =
        cubic_gas(gas_of({{"methane", 0.99}, {"n-hexane", 0.01}}), CubicEquation::peng_robinson);
    ASSERT_TRUE(gas);
    auto const line = phase_envelope(gas->mixture, gas->z);
    ASSERT_TRUE(line);
    EXPECT_EQ(line->end(), EnvelopeEnd::three_phases);
    bool bubble = false;
    for (auto const& point : line->points()) {
        bubble |= !point.dew;
        EXPECT_TRUE(
            phase_stability(gas->mixture, gas->z, kelvin(point.at.T), pascal(point.at.p)).stable)
            << point.at.T << " K, " << point.at.p << " Pa";
    }
    EXPECT_TRUE(bubble);
    ASSERT_TRUE(line->cricondentherm() && line->cricondenbar());
}

TEST(DewPoints, AloneAreThoseOfTheWholeLine) {
    for (auto const equation : both) {
        auto const gas = cubic_gas(
            gas_of({{"methane", 0.9}, {"ethane", 0.06}, {"n-butane", 0.03}, {"n-hexane", 0.01}}),
            equation);
        ASSERT_TRUE(gas);
        auto const line = phase_envelope(gas->mixture, gas->z);
        ASSERT_TRUE(line && line->cricondenbar());
        for (double const share : {0.001, 0.05, 0.3, 0.9, 0.995}) {
            double const p = share * line->cricondenbar()->p;
            auto const whole = line->dew_temperatures(p);
            auto const alone = dew_points(gas->mixture, gas->z, p);
            ASSERT_TRUE(alone);
            ASSERT_EQ(alone->size(), whole.size()) << p;
            for (std::size_t i = 0; i < whole.size(); ++i)
                EXPECT_NEAR((*alone)[i].at.T, whole[i], 1e-6) << p;
            auto const near = dew_point_near(gas->mixture, gas->z, 0.999 * p, alone->front());
            ASSERT_TRUE(near);
            EXPECT_NEAR(near->at.T, line->dew_temperatures(0.999 * p).front(), 1e-6);
        }
        EXPECT_TRUE(dew_points(gas->mixture, gas->z, 1.01 * line->cricondenbar()->p)->empty());
    }
}

TEST(DewPoints, TheHighestCountsEveryPressureBelow) {
    auto const gas =
        cubic_gas(gas_of({{"methane", 0.9}, {"n-butane", 0.1}}), CubicEquation::peng_robinson);
    ASSERT_TRUE(gas);
    auto const line = phase_envelope(gas->mixture, gas->z);
    ASSERT_TRUE(line && line->cricondentherm());
    auto const top = *line->cricondentherm();
    EXPECT_EQ(line->highest_dew_point(2 * top.p)->T, top.T);
    EXPECT_EQ(line->highest_dew_point(0.5 * top.p)->T, line->dew_temperatures(0.5 * top.p).front());
}

RC_GTEST_PROP(PhaseEnvelopeLaws, DewPointsOfAnyNaturalGasLieOnThePhaseBoundary, ()) {
    static char const* const others[] = {"ethane",
                                         "propane",
                                         "isobutane",
                                         "n-butane",
                                         "isopentane",
                                         "n-pentane",
                                         "n-hexane",
                                         "n-heptane",
                                         "n-octane",
                                         "nitrogen",
                                         "carbon dioxide"};
    Composition gas = gas_of({{"methane", 0}});
    double sum = 0, size = 0.1;
    for (auto const* name : others) {
        double const x = size * *rc::gen::inRange(1, 100) / 100.0;
        size *= 0.6;
        gas.components.push_back(*find_component(name));
        gas.x.push_back(x);
        sum += x;
    }
    gas.x[0] = 1 - sum;
    auto const ready = cubic_gas(
        gas, *rc::gen::element(CubicEquation::peng_robinson, CubicEquation::soave_redlich_kwong));
    RC_ASSERT(ready.has_value());
    auto const line = phase_envelope(ready->mixture, ready->z);
    RC_ASSERT(line.has_value());
    RC_ASSERT(line->cricondentherm().has_value());
    double const p = 1e3 * *rc::gen::inRange(50, 4000);
    for (double const T : line->dew_temperatures(p)) {
        auto const stable = [&](double t) {
            return phase_stability(ready->mixture, ready->z, kelvin(t), pascal(p)).stable;
        };
        RC_ASSERT(stable(T + 0.01) != stable(T - 0.01));
    }
}

}  // namespace
}  // namespace gw::gas
