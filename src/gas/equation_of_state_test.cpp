#include "gas/equation_of_state.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

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

constexpr WideRangeEquation both[] = {WideRangeEquation::gerg2008, WideRangeEquation::detail};

TEST(WideRange, AStandInIsNamedAndKeepsItsOwnMass) {
    for (auto const equation : both) {
        auto const true_gas = prepared(gas_of({{"methane", 0.99}, {"neopentane", 0.01}}), equation);
        auto const stand_in = prepared(gas_of({{"methane", 0.99}, {"n-pentane", 0.01}}), equation);
        ASSERT_TRUE(true_gas && stand_in);
        ASSERT_EQ(true_gas->warnings.size(), 1U);
        EXPECT_NE(true_gas->warnings[0].find("neopentane as n-pentane"), std::string::npos);
        EXPECT_TRUE(stand_in->warnings.empty());
        EXPECT_EQ(*molar_density(*true_gas, kelvin(300), kilopascal(5000)),
                  *molar_density(*stand_in, kelvin(300), kilopascal(5000)));
        auto const benzene = prepared(gas_of({{"methane", 0.99}, {"benzene", 0.01}}), equation);
        ASSERT_TRUE(benzene);
        // molar masses of ISO 6976:2016 Table 1
        EXPECT_NEAR(benzene->molar_mass - stand_in->molar_mass, 0.01 * (78.11184 - 72.14878), 1e-5);
    }
}

TEST(WideRange, RefusesWhatIsNoStateOrNoGas) {
    auto const methane = gas_of({{"methane", 1.0}});
    for (auto const equation : both) {
        auto const gas = prepared(methane, equation);
        ASSERT_TRUE(gas);
        for (double const T : {0.0, -5.0, std::nan(""), std::numeric_limits<double>::infinity()})
            EXPECT_FALSE(molar_density(*gas, kelvin(T), kilopascal(100))) << T;
        for (double const p : {0.0, -1.0, std::nan(""), std::numeric_limits<double>::infinity()})
            EXPECT_FALSE(molar_density(*gas, kelvin(300), kilopascal(p))) << p;
        auto const dense = molar_density(*gas, kelvin(300), kilopascal(1e12));
        ASSERT_FALSE(dense);
        EXPECT_EQ(dense.error().code, Errc::out_of_range);
        EXPECT_FALSE(prepared(gas_of({{"methane", 0.0}}), equation));
        EXPECT_FALSE(prepared(gas_of({{"methane", 1.1}, {"ethane", -0.1}}), equation));
        EXPECT_FALSE(prepared(gas_of({{"methane", 0.99}, {"C6+", 0.01}}), equation));
    }
}

TEST(WideRange, BelowItsBoilingPointMethaneIsLiquidAndAboveItGas) {
    auto const gas = prepared(gas_of({{"methane", 1.0}}), WideRangeEquation::gerg2008);
    ASSERT_TRUE(gas);
    // normal boiling point 111.667 K: Kunz and Wagner (2012) carry the reference equation's
    EXPECT_GT(*molar_density(*gas, kelvin(111.5), kilopascal(101.325)), 26.0);
    EXPECT_LT(*molar_density(*gas, kelvin(111.9), kilopascal(101.325)), 0.12);
}

TEST(WideRange, TheRangeFollowsTemperatureAndPressure) {
    using enum WideRangeEquation;
    auto const range = [](WideRangeEquation e, double T, double MPa) {
        return validity_range(e, kelvin(T), kilopascal(1e3 * MPa));
    };
    EXPECT_EQ(range(gerg2008, 300, 35), ValidityRange::normal);
    EXPECT_EQ(range(gerg2008, 300, 36), ValidityRange::extended);
    EXPECT_EQ(range(gerg2008, 451, 1), ValidityRange::extended);
    EXPECT_EQ(range(gerg2008, 701, 1), ValidityRange::outside);
    EXPECT_EQ(range(gerg2008, 300, 71), ValidityRange::outside);
    EXPECT_EQ(range(detail, 300, 12), ValidityRange::normal);
    EXPECT_EQ(range(detail, 240, 1), ValidityRange::extended);
    EXPECT_EQ(range(detail, 120, 1), ValidityRange::outside);
}

TEST(WideRange, ATotalOffOneIsScaledAndSaid) {
    auto const gas =
        prepared(gas_of({{"methane", 0.9}, {"ethane", 0.1005}}), WideRangeEquation::detail);
    ASSERT_TRUE(gas);
    EXPECT_EQ(gas->warnings.size(), 1U);
    double sum = 0;
    for (double const x : gas->mixture.x) sum += x;
    EXPECT_NEAR(sum, 1.0, 1e-15);
}

}  // namespace
}  // namespace gw::gas
