#include "gas/gpa2172.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "gas/reference.hpp"

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

TEST(Gpa2172Sum, PureMethaneIsTheTableRow) {
    auto const got = gpa2172(gas_of({{"methane", 1.0}}), {psia(14.696)});
    ASSERT_TRUE(got);
    // GPA 2145-16: 1010.0 Btu/ft3, summation factor 0.04438
    EXPECT_NEAR(got->ideal.gross_cv_volume.value, 1010.0, 1e-9);
    EXPECT_NEAR(got->real.compression_factor.value, 1 - 0.04438 * 0.04438, 1e-12);
    EXPECT_NEAR(got->real.gross_cv_volume.value, 1010.0 / (1 - 0.04438 * 0.04438), 1e-9);
    // two molecules of water formed, 50.3 Btu/ft3 each (the table's row of water)
    EXPECT_NEAR(got->ideal.net_cv_volume.value, 1010.0 - 2 * 50.3, 1e-9);
    EXPECT_EQ(got->real.gross_cv_volume.u, 0.0);
    EXPECT_EQ(got->warnings.size(), 1U) << "GPA 2145 states no uncertainty, and that is said";
}

TEST(Gpa2172Sum, TheBasePressureScalesTheIdealValue) {
    auto const gas = gas_of({{"methane", 0.9}, {"ethane", 0.1}});
    auto const low = gpa2172(gas, {psia(14.696)});
    auto const high = gpa2172(gas, {psia(15.025)});
    ASSERT_TRUE(low && high);
    EXPECT_NEAR(high->ideal.gross_cv_volume.value / low->ideal.gross_cv_volume.value,
                15.025 / 14.696,
                1e-12);
    EXPECT_NEAR(high->ideal.gross_cv_mass.value, low->ideal.gross_cv_mass.value, 1e-9);
    EXPECT_LT(high->real.compression_factor.value, low->real.compression_factor.value);
}

TEST(Gpa2172Sum, TheSaturatedGasIsWorthLessByItsWater) {
    auto const got = gpa2172(gas_of({{"methane", 1.0}}), {psia(14.73)});
    ASSERT_TRUE(got);
    double const xw = 0.25636 / 14.73;  // vapour pressure at 60 degF, GPA 2172, from memory
    EXPECT_NEAR(got->water_fraction, xw, 1e-12);
    EXPECT_NEAR(got->ideal.gross_cv_volume_saturated.value,
                got->ideal.gross_cv_volume.value * (1 - xw),
                1e-9);
    double const s = 0.04438 * (1 - xw) + xw * 0.2546;
    double const Z = 1 - s * s * 14.73 / 14.696;
    EXPECT_NEAR(got->real.compression_factor_saturated.value, Z, 1e-12);
    EXPECT_NEAR(
        got->real.gross_cv_volume_saturated.value, 1010.0 * 14.73 / 14.696 * (1 - xw) / Z, 1e-9);
}

TEST(Gpa2172Sum, WaterInTheCompositionIsTakenOut) {
    auto const dry = gpa2172(gas_of({{"methane", 0.9}, {"ethane", 0.1}}));
    auto const wet = gpa2172(gas_of({{"methane", 0.882}, {"ethane", 0.098}, {"water", 0.02}}));
    ASSERT_TRUE(dry && wet);
    for (auto const& row : us_quantity_rows())
        EXPECT_NEAR((wet->real.*row.quantity).value,
                    (dry->real.*row.quantity).value,
                    1e-9 * (dry->real.*row.quantity).value)
            << row.key;
    EXPECT_EQ(wet->warnings.size(), dry->warnings.size() + 1);
}

TEST(Gpa2172Sum, AComponentThatIsNotListedIsNamedAndTakenFromIso6976) {
    auto const got = gpa2172(gas_of({{"methane", 0.999}, {"benzene", 0.001}}));
    ASSERT_TRUE(got);
    bool named = false;
    for (auto const& warning : got->warnings) named |= warning.find("benzene") != std::string::npos;
    EXPECT_TRUE(named);
    // The conversion itself, on rows that are listed: 0.2 Btu/ft3, the agreement of the two tables.
    auto const iso = iso6976(gas_of({{"propane", 1.0}}),
                             {CombustionTemperature::f60, MeteringTemperature::f60, psia(14.696)});
    auto const us = gpa2172(gas_of({{"propane", 1.0}}), {psia(14.696)});
    ASSERT_TRUE(iso && us);
    double const btu_per_ft3 = 0.028316846592 / 1.05505585262e-3;
    EXPECT_NEAR(
        iso->ideal.gross_cv_volume.value * btu_per_ft3, us->ideal.gross_cv_volume.value, 0.2);
    EXPECT_NEAR(iso->ideal.gross_cv_mass.value / 1.05505585262e-3 * 0.45359237,
                us->ideal.gross_cv_mass.value,
                3.0);
    EXPECT_NEAR(iso->real.density.value * 0.028316846592 / 0.45359237,
                us->real.density.value,
                3e-4 * us->real.density.value);
}

TEST(Gpa2172Sum, RefusesPressuresThatAreNoBaseAndGasesThatAreNone) {
    auto const gas = gas_of({{"methane", 1.0}});
    EXPECT_TRUE(gpa2172(gas, {psia(15.025)}));
    for (double const p : {79.9, 120.1, 0.0, std::nan("")})
        EXPECT_FALSE(gpa2172(gas, {kilopascal(p)})) << p;
    EXPECT_FALSE(gpa2172(gas_of({{"n-decane", 1.0}})));
    EXPECT_FALSE(gpa2172(gas_of({{"methane", 0.99}, {"C6+", 0.01}})));
    EXPECT_FALSE(gpa2172(gas_of({{"water", 1.0}})));
    EXPECT_FALSE(gpa2172(gas_of({{"methane", 0.0}})));
}

TEST(ReferenceChoice, SendsEachStandardToItsOwnSum) {
    auto const gas = gas_of({{"methane", 0.95}, {"ethane", 0.05}});
    Reference const iso = Iso6976Options{};
    Reference const us = Gpa2172Options{};
    EXPECT_EQ(cv_unit(iso), "MJ/m3");
    EXPECT_EQ(cv_unit(us), "Btu/ft3");
    EXPECT_EQ(gross_cv_volume_gradient(gas, iso)->value.value,
              gross_cv_volume_gradient(gas, Iso6976Options{})->value.value);
    EXPECT_EQ(gross_cv_volume_gradient(gas, us)->value.value,
              gpa2172(gas)->real.gross_cv_volume.value);
    EXPECT_TRUE(std::holds_alternative<Gpa2172>(*properties_of(gas, us)));
    EXPECT_EQ(combustion_c(us), 15.55);
}

TEST(Gpa2172Json, HoldsTheContractsNamesInUsUnits) {
    auto const json = group_json(gpa2172(gas_of({{"methane", 1.0}}))->real);
    EXPECT_EQ(json["gross_cv_volume"]["unit"], "Btu/ft3");
    EXPECT_EQ(json["gross_cv_volume_saturated"]["unit"], "Btu/ft3");
    EXPECT_EQ(json["density"]["unit"], "lb/ft3");
}

}  // namespace
}  // namespace gw::gas
