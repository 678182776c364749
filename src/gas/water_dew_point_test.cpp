#include "gas/water_dew_point.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace gw::gas {
namespace {

// IAPWS SR1-86(1992), table 1: triple point, normal boiling point, critical point.
TEST(WaterVapourPressure, AgreesWithTheTableOfIapws) {
    EXPECT_NEAR(water_vapour_pressure(kelvin(273.16)), 611.657, 0.001);
    EXPECT_NEAR(water_vapour_pressure(kelvin(373.1243)), 0.101325e6, 1.0);
    EXPECT_NEAR(water_vapour_pressure(kelvin(647.096)), 22.064e6, 1.0);
    EXPECT_TRUE(std::isnan(water_vapour_pressure(kelvin(650))));
}

// The table of ASTM D1142, A and B in lb/MMscf at 14.7 psia and 60 degF, from memory: 131 and 0.22
// at -40 degF, 12200 and 5.77 at 60 degF; read here as water at 1000 psia.
TEST(SaturatedWater, AgreesWithTheTableOfAstmD1142) {
    auto const psia_1000 = kilopascal(6894.757293168);
    EXPECT_NEAR(47484 * saturated_water(fahrenheit(-40), psia_1000), 131 / 1000.0 + 0.22, 0.01);
    EXPECT_NEAR(47484 * saturated_water(fahrenheit(60), psia_1000), 12.2 + 5.77, 0.1);
}

TEST(WaterDewPoint, IsWhereTheGasWouldBeSaturated) {
    for (double const T : {235.0, 260.0, 290.0, 330.0, 400.0})
        for (double const kpa : {200.0, 5000.0, 30000.0}) {
            double const water = saturated_water(kelvin(T), kilopascal(kpa));
            if (water >= 1) continue;  // it boils
            auto const got = water_dew_point(water, kilopascal(kpa));
            ASSERT_TRUE(got) << one_line(got.error());
            EXPECT_NEAR(got->T.si, T, 1e-6);
            EXPECT_EQ(got->range, T < 288.7 ? WaterRange::extended : WaterRange::normal);
        }
}

TEST(WaterDewPoint, SaysWhenItIsOutsideItsRangeOrIsNone) {
    auto const dry = water_dew_point(2e-7, kilopascal(5000));
    EXPECT_TRUE(!dry || dry->range == WaterRange::outside);
    EXPECT_FALSE(water_dew_point(0.9999, kilopascal(50000)));
    for (double const water : {0.0, -0.1, 1.0, std::nan("")})
        EXPECT_FALSE(water_dew_point(water, kilopascal(5000))) << water;
    EXPECT_FALSE(water_dew_point(1e-4, kilopascal(0)));
}

}  // namespace
}  // namespace gw::gas
