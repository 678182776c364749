#include "assay/cylinder.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "base/random.hpp"
#include "metrology/statistics.hpp"

namespace gw::assay {
namespace {

Result<Cylinder> read(std::string const& text) {
    auto const document = parse_json(text, "cyl.json");
    if (!document) return pass_on(document.error());
    return read_cylinder(document->root());
}

// Certificate members in, whole file out.
std::string file(std::string const& certificate, std::string const& rest = "") {
    return R"({"serial": "A1", "role": "proving", "certificate": {)" + certificate + "}" + rest +
           "}";
}

std::string const two = R"("unit": "mol%", "components": {
    "methane": {"value": 90.0, "expanded_uncertainty": 0.2, "k": 2},
    "ethane": {"value": 10.02, "expanded_uncertainty": 0.06, "k": 3}})";

TEST(CylinderFile, KeepsThePrintedAmountsAndNormalisesForUse) {
    auto const c = read(file(two, R"(, "certified": "2026-03-02", "expires": "2028-03-02",
        "pressure_kpa": 2800, "minimum_pressure_kpa": 700, "minimum_storage_c": -5, "water_capacity_l": 10,
        "independent_of": "B2", "laboratory": "invented")"));
    ASSERT_TRUE(c) << one_line(c.error());
    EXPECT_EQ(c->serial, "A1");
    EXPECT_EQ(c->role, CylinderRole::proving);
    EXPECT_DOUBLE_EQ(c->printed.total(), 1.0002);
    EXPECT_DOUBLE_EQ(c->last_digit, 1e-4);
    EXPECT_EQ(c->printed_amounts, 2U);
    EXPECT_EQ(c->uncertainty, CertificateUncertainty::expanded);
    EXPECT_EQ(c->independent_of, std::vector<std::string>{"B2"});
    EXPECT_EQ(in_kilopascal(*c->pressure), 2800);
    auto const gas = certified_gas(*c);
    EXPECT_NEAR(gas.total(), 1.0, 1e-15);
    EXPECT_NEAR(gas.x[0], 0.9 / 1.0002, 1e-15);
    // Two components: both carry the same uncertainty, x2 u1 and x1 u2 joined (GUM 5.1.2).
    double const S = 1.0002, x1 = 0.9 / S, x2 = 0.1002 / S;
    double const u = std::hypot(x2 * 0.001, x1 * 0.0002) / S;
    auto const got = standard_uncertainties(gas.V);
    EXPECT_NEAR(got[0], u, 1e-12);
    EXPECT_NEAR(got[1], u, 1e-12);
}

TEST(CylinderFile, SaysThatUncertaintiesWentThroughTheConstraint) {
    auto const c = read(file(two));
    ASSERT_TRUE(c);
    ASSERT_EQ(c->warnings.size(), 1U);
    EXPECT_NE(c->warnings[0].find("constraint"), std::string::npos);
}

TEST(CylinderFile, RowsOfTheCovarianceSumToZeroAfterTheConstraint) {
    auto const c = read(file(two));
    auto const V = certified_gas(*c).V;
    for (std::size_t i = 0; i < V.size(); ++i) {
        double sum = 0;
        for (std::size_t j = 0; j < V.size(); ++j) sum += V(i, j);
        EXPECT_NEAR(sum, 0, 1e-20);
    }
}

TEST(CylinderFile, TakesTheSameAmountsInMolPerMol) {
    auto const percent = read(file(two));
    auto const fraction = read(file(R"("unit": "mol/mol", "components": {
        "CH4": {"value": 0.9, "expanded_uncertainty": 0.002}, "C2": {"value": 0.1002, "expanded_uncertainty": 0.0004}})"));
    ASSERT_TRUE(fraction) << one_line(fraction.error());
    EXPECT_DOUBLE_EQ(fraction->last_digit, 1e-4);
    for (std::size_t i = 0; i < 2; ++i)
        EXPECT_NEAR(fraction->printed.x[i], percent->printed.x[i], 1e-16);
    EXPECT_NEAR(std::sqrt(fraction->printed.V(0, 0)), 0.001, 1e-15) << "k is 2 unless stated";
}

TEST(CylinderFile, UsesAStatedCovarianceInItsOwnOrder) {
    auto const c = read(file(
        R"("unit": "mol%", "components": {"methane": {"value": 90, "expanded_uncertainty": 0.2},
        "ethane": {"value": 10, "expanded_uncertainty": 0.02}},
        "component_order": ["ethane", "methane"], "covariance": [[0.0001, -0.0001], [-0.0001, 0.0001]])"));
    ASSERT_TRUE(c) << one_line(c.error());
    EXPECT_EQ(c->uncertainty, CertificateUncertainty::covariance);
    auto const V = certified_gas(*c).V;
    EXPECT_NEAR(V(0, 0), 1e-8, 1e-20) << "already on the constraint: unchanged by it";
    EXPECT_NEAR(V(0, 1), -1e-8, 1e-20);
    ASSERT_EQ(c->warnings.size(), 1U) << "methane's stated u is ten times that of the covariance";
    EXPECT_NE(c->warnings[0].find("methane"), std::string::npos);
}

TEST(CylinderFile, TakesAnUnstatedBalanceByDifference) {
    std::string const others =
        R"("ethane": {"value": 6, "expanded_uncertainty": 0.06}, "nitrogen": {"value": 4, "expanded_uncertainty": 0.08}})";
    for (auto const* methane :
         {R"("balance": "methane", "components": {)",
          R"("balance": "C1", "components": {"methane": {},)",
          R"("balance": "methane", "components": {"methane": {"value": 90},)"}) {
        auto const c = read(file(R"("unit": "mol%", )" + std::string(methane) + others));
        ASSERT_TRUE(c) << one_line(c.error());
        auto const gas = certified_gas(*c);
        EXPECT_NEAR(gas.fraction(*gas::find_component("methane")), 0.9, 1e-12);
        auto const methane_u = quadratic_form(
            gas.V,
            std::vector<double>{gas.components[0] == *gas::find_component("methane") ? 1.0 : 0.0,
                                0.0,
                                gas.components[2] == *gas::find_component("methane") ? 1.0 : 0.0});
        EXPECT_NEAR(std::sqrt(methane_u), 0.0005, 1e-12) << "0.03 and 0.04 mol% joined";
        EXPECT_NEAR(c->last_digit, 1e-2, 1e-15);
    }
    auto const derived =
        read(file(R"("unit": "mol%", "balance": "methane", "components": {)" + others));
    EXPECT_TRUE(derived->balance_by_difference);
    EXPECT_EQ(derived->printed_amounts, 2U);
}

TEST(CylinderFile, AllowsACertificateWithoutUncertaintyAndSaysSo) {
    auto const c =
        read(file(R"("unit": "mol%", "components": {"methane": 90, "ethane": {"value": 10}})"));
    ASSERT_TRUE(c) << one_line(c.error());
    EXPECT_EQ(c->uncertainty, CertificateUncertainty::none);
    EXPECT_TRUE(certified_gas(*c).V.empty());
    EXPECT_FALSE(c->warnings.empty());
    auto const partly = read(file(
        R"("unit": "mol%", "components": {"methane": {"value": 90, "expanded_uncertainty": 0.1}, "ethane": 10})"));
    ASSERT_EQ(partly->warnings.size(), 2U);
    EXPECT_NE(partly->warnings[1].find("ethane"), std::string::npos);
}

TEST(CylinderFile, TakesGaugePressureOnlyWithTheAmbient) {
    auto const c = read(file(
        two,
        R"(, "pressure_gauge_kpa": 2700, "minimum_pressure_gauge_kpa": 600, "ambient_kpa": 95)"));
    ASSERT_TRUE(c) << one_line(c.error());
    EXPECT_NEAR(in_kilopascal(*c->pressure), 2795, 1e-9);
    EXPECT_NEAR(in_kilopascal(*c->minimum_pressure), 695, 1e-9);
    auto const bare = read(file(two, R"(, "pressure_gauge_kpa": 2700)"));
    ASSERT_FALSE(bare);
    EXPECT_EQ(bare.error().where, "cyl.json:pressure_gauge_kpa");
    EXPECT_FALSE(
        read(file(two, R"(, "pressure_gauge_kpa": 1, "pressure_kpa": 2, "ambient_kpa": 100)")));
}

TEST(CylinderFile, ReadsAStatedCalorificValueInUsualUnits) {
    auto const plain = read(file(two, R"(, "stated_calorific_value": 40.5)"));
    EXPECT_EQ(plain->stated_calorific_value->mj_per_m3, 40.5);
    auto const kwh = read(file(
        two,
        R"(, "stated_calorific_value": {"value": 11, "unit": "kWh/m3", "combustion_c": 25, "metering_c": 0})"));
    ASSERT_TRUE(kwh) << one_line(kwh.error());
    EXPECT_NEAR(kwh->stated_calorific_value->mj_per_m3, 39.6, 1e-12);
    EXPECT_EQ(gas::in_celsius(kwh->stated_calorific_value->at.metering), 0);
    auto const btu =
        read(file(two, R"(, "stated_calorific_value": {"value": 1000, "unit": "Btu/ft3"})"));
    EXPECT_NEAR(btu->stated_calorific_value->mj_per_m3,
                37.25895,
                1e-5);  // exact definitions of Btu and foot
    EXPECT_EQ(gas::in_celsius(btu->stated_calorific_value->at.combustion), 15.55);
    for (auto const* bad : {R"("40")",
                            "0.1",
                            R"({"unit": "MJ/m3"})",
                            R"({"value": 40, "unit": "cal"})",
                            R"({"value": 40, "metering_c": 25})",
                            R"({"value": 40, "combustion_c": 17})"})
        EXPECT_FALSE(read(file(two, std::string(R"(, "stated_calorific_value": )") + bad))) << bad;
}

TEST(CylinderFile, RefusesWhatIsNoCertificate) {
    for (
        auto const* bad :
        {R"({})",
         R"([])",
         R"({"serial": "A", "certificate": {}})",
         R"({"serial": " ", "certificate": {"unit": "mol%", "components": {"methane": 100}}})",
         R"({"serial": "A", "role": "other", "certificate": {"unit": "mol%", "components": {"methane": 100}}})",
         R"({"serial": "A", "schema": "gaswright.method/1", "certificate": {"unit": "mol%", "components": {"methane": 100}}})"})
        EXPECT_FALSE(read(bad)) << bad;
    for (
        auto const* bad :
        {R"("unit": "ppm", "components": {"methane": 100})",
         R"("components": {"methane": 100})",
         R"("unit": "mol%", "components": {})",
         R"("unit": "mol%", "components": {"methane": 89.99})",
         R"("unit": "mol%", "components": {"methane": 110.1})",
         R"("unit": "mol/mol", "components": {"methane": 90, "ethane": 10})",
         R"("unit": "mol%", "components": {"methane": 101, "ethane": -1})",
         R"("unit": "mol%", "components": {"methane": 50, "CH4": 50})",
         R"("unit": "mol%", "components": {"gas": 100})",
         R"("unit": "mol%", "components": {"methane": {"value": 100, "expanded_uncertainty": -1}})",
         R"("unit": "mol%", "components": {"methane": {"value": 100, "expanded_uncertainty": 1, "k": 0}})",
         R"("unit": "mol%", "components": {"methane": {"expanded_uncertainty": 1}, "ethane": 10})",
         R"("unit": "mol%", "balance": "methane", "components": {"ethane": 101})",
         R"("unit": "mol%", "balance": "swamp gas", "components": {"ethane": 100})",
         R"("unit": "mol%", "components": {"methane": 90, "ethane": 10}, "covariance": [[1]])",
         R"("unit": "mol%", "components": {"methane": 90, "ethane": 10}, "covariance": [[1, 2], [2, 1]])"})
        EXPECT_FALSE(read(file(bad))) << bad;
    auto const dates = read(file(two, R"(, "certified": "2026-03-02", "expires": "2025-03-02")"));
    ASSERT_FALSE(dates);
    EXPECT_EQ(dates.error().where, "cyl.json:expires");
    EXPECT_FALSE(read(file(two, R"(, "expires": "2026-02-30")")));
    EXPECT_FALSE(read(file(two, R"(, "pressure_kpa": -1)")));
}

// The gradient and the covariance against draws through the whole of the standard.
TEST(CertifiedCalorificValue, AgreesWithMonteCarlo) {
    auto const c = read(file(R"("unit": "mol%", "components": {
        "methane": {"value": 88.0, "expanded_uncertainty": 0.15}, "nitrogen": {"value": 2.5, "expanded_uncertainty": 0.05},
        "ethane": {"value": 6.5, "expanded_uncertainty": 0.06}, "n-butane": {"value": 3.0, "expanded_uncertainty": 0.04}})"));
    ASSERT_TRUE(c);
    auto const cv = certified_calorific_value(*c);
    ASSERT_TRUE(cv) << one_line(cv.error());
    ASSERT_TRUE(cv->u);
    RandomStream random(7, 0);
    std::vector<double> drawn(20000);
    for (double& value : drawn) {
        auto gas = c->printed;
        for (std::size_t i = 0; i < gas.x.size(); ++i)
            gas.x[i] += std::sqrt(gas.V(i, i)) * random.normal();
        gas.V = {};
        value = gas::iso6976(gas::normalised(gas))->real.gross_cv_volume.value;
    }
    EXPECT_NEAR(cv->value, metrology::mean(drawn), 4 * *cv->u / std::sqrt(20000.0));
    EXPECT_NEAR(
        *cv->u, metrology::standard_deviation(drawn), 0.02 * *cv->u);  // 4 standard deviations of s
}

}  // namespace
}  // namespace gw::assay
