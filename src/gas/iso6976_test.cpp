#include "gas/iso6976.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>

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

TEST(ReferenceConditions, AreThoseOfTheTablesAndNoOthers) {
    for (double const t : {0.0, 15.0, 15.55, 20.0, 25.0}) {
        auto const found = combustion_temperature(t);
        ASSERT_TRUE(found) << t;
        EXPECT_EQ(in_celsius(*found), t);
    }
    for (double const t : {15.55, 15.5556, 15.56})
        EXPECT_TRUE(*metering_temperature(t) == MeteringTemperature::f60);
    EXPECT_FALSE(metering_temperature(25)) << "the standard has no summation factors there";
    for (double const t : {16.0, 15.5, 15.57, -15.0, 288.15, std::nan("")}) {
        EXPECT_FALSE(combustion_temperature(t)) << t;
        EXPECT_FALSE(metering_temperature(t)) << t;
    }
}

TEST(Iso6976Sum, RefusesPressuresOutside90To110kPa) {
    auto const gas = gas_of({{"methane", 1.0}});
    EXPECT_TRUE(iso6976(gas, {.pressure = kilopascal(90)}));
    EXPECT_TRUE(iso6976(gas, {.pressure = kilopascal(110)}));
    for (double const p : {89.9, 110.1, 0.0, std::nan("")}) {
        auto const refused = iso6976(gas, {.pressure = kilopascal(p)});
        ASSERT_FALSE(refused) << p;
        EXPECT_EQ(refused.error().code, Errc::out_of_range);
    }
}

TEST(Iso6976Sum, RefusesWhatIsNoGas) {
    EXPECT_FALSE(iso6976(gas_of({{"n-decane", 1.0}}))) << "Z would be 0.64";
    EXPECT_FALSE(iso6976(gas_of({{"methane", 0.0}})));
    EXPECT_FALSE(iso6976(gas_of({{"methane", 0.99}, {"C6+", 0.01}}))) << "a lump has no properties";
}

TEST(Iso6976Sum, WaterAddsItsLatentHeatToTheGrossValueAndNothingToTheNet) {
    auto const wet = iso6976(gas_of({{"nitrogen", 0.99}, {"water", 0.01}}));
    ASSERT_TRUE(wet);
    EXPECT_NEAR(wet->real.gross_cv_molar.value, 0.44431, 1e-12);  // ISO 6976:2016 Annex A, 15 degC
    EXPECT_NEAR(wet->real.gross_cv_molar.u, 0.01 * 0.004, 1e-12);
    EXPECT_NEAR(wet->real.net_cv_molar.value, 0.0, 1e-12);
    EXPECT_NEAR(wet->real.net_cv_molar.u, 0.0, 1e-12);
}

TEST(Iso6976Sum, ANegativeSummationFactorEntersWithItsSign) {
    auto const alone = iso6976(gas_of({{"hydrogen", 1.0}}));
    ASSERT_TRUE(alone);
    EXPECT_NEAR(alone->real.compression_factor.value, 1 - 1e-4, 1e-12);
    // 0.01 of ethane against 0.0919 of hydrogen at 15 degC: the sum, and so the deficit, is nothing
    auto const balanced = iso6976(gas_of({{"ethane", 0.01}, {"hydrogen", 0.0919}}));
    ASSERT_TRUE(balanced);
    EXPECT_NEAR(balanced->real.compression_factor.value, 1.0, 1e-15);
}

TEST(Iso6976Sum, AnInertGasHasNoCalorificValueAndNoUndefinedUncertainty) {
    auto const inert = iso6976(gas_of({{"nitrogen", 1.0}}));
    ASSERT_TRUE(inert);
    for (auto const& row : quantity_rows()) {
        EXPECT_TRUE(std::isfinite((inert->real.*row.quantity).value)) << row.key;
        EXPECT_TRUE(std::isfinite((inert->real.*row.quantity).u)) << row.key;
    }
    EXPECT_EQ(inert->real.gross_wobbe.value, 0.0);
}

TEST(Iso6976Sum, SaysWhenTheCompositionStatesNoUncertainties) {
    auto gas = gas_of({{"methane", 1.0}});
    EXPECT_EQ(iso6976(gas)->warnings.size(), 1U);
    gas.V = SquareMatrix(1);
    EXPECT_TRUE(iso6976(gas)->warnings.empty()) << "stated as zero is stated";
}

TEST(Iso6976Sum, TheIdealGroupKnowsNoCompression) {
    auto const methane = iso6976(gas_of({{"methane", 1.0}}));
    EXPECT_EQ(methane->ideal.compression_factor.value, 1.0);
    EXPECT_EQ(methane->ideal.compression_factor.u, 0.0);
    // 891.51 kJ/mol over R T / p, figures of ISO 6976:2016 Table 3 and Annex A
    EXPECT_NEAR(
        methane->ideal.gross_cv_volume.value, 891.51 / (8.3144621 * 288.15 / 101.325), 1e-10);
    EXPECT_NEAR(methane->ideal.relative_density.value, 16.04246 / 28.96546, 1e-12);
}

TEST(Iso6976Json, HoldsTheTwelveQuantitiesWithUnits) {
    auto const json = group_json(iso6976(gas_of({{"methane", 1.0}}))->real);
    ASSERT_EQ(json.size(), 12U);
    EXPECT_EQ(json["gross_cv_volume"]["unit"], "MJ/m3");
    EXPECT_EQ(json["compression_factor"]["unit"], "1");
    EXPECT_EQ(json.begin().key(), "molar_mass");
}

}  // namespace
}  // namespace gw::gas
