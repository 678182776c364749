#include "visit/factor_picture.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>

namespace gw::visit {
namespace {

gas::Component component(char const* name) { return *gas::find_component(name); }

// Factors in proportion to the published responses, but for what `off` multiplies.
std::vector<assay::FactorPoint> factors(std::map<std::string, double> const& off = {}) {
    std::vector<assay::FactorPoint> out;
    for (auto const* name :
         {"nitrogen", "methane", "ethane", "propane", "isobutane", "n-butane", "n-pentane"}) {
        double f = 3 * *assay::published_response(component(name), {});
        if (auto const at = off.find(name); at != off.end()) f *= at->second;
        out.push_back({component(name), f, 0.001, 1});
    }
    return out;
}

FactorPicture picture(std::vector<assay::FactorPoint> const& points) {
    auto const criteria = *metrology::shipped_criteria("custody");
    return factor_picture(points, assay::factor_evidence(points, {}), nullptr, {}, criteria);
}

FactorMark const& mark(FactorSet const& set, char const* name) {
    for (auto const& each : set.marks)
        if (gas::name(each.component) == name) return each;
    throw std::runtime_error(name);
}

TEST(FactorPicture, ItsLargestMarkIsTheFinding) {
    auto const points = factors({{"propane", 0.85}});
    auto const evidence = assay::factor_evidence(points, {});
    auto const criteria = *metrology::shipped_criteria("custody");
    auto const finding = factor_pattern_finding(evidence, criteria);
    auto const made = factor_picture(points, evidence, nullptr, {}, criteria);
    ASSERT_EQ(made.sets.size(), 1U);
    EXPECT_EQ(made.sets[0].id, "published");
    ASSERT_EQ(made.sets[0].marks.size(), 7U);
    auto const& propane = mark(made.sets[0], "propane").finding;
    EXPECT_EQ(*propane.value, *finding.value);
    EXPECT_EQ(propane.verdict, finding.verdict);
    EXPECT_EQ(propane.low, finding.low);
    EXPECT_NEAR(*propane.u, 85 * 0.001, 1e-9) << "the factor's own, in percent";
    EXPECT_FALSE(propane.required) << "the largest decides, never one alone";
    EXPECT_EQ(mark(made.sets[0], "ethane").finding.verdict, metrology::Verdict::meets);
}

TEST(FactorPicture, NamesPairsOutOfOrder) {
    auto const made = picture(factors({{"propane", 0.6}}));
    ASSERT_FALSE(made.pairs.empty());
    for (auto const& pair : made.pairs) EXPECT_EQ(gas::name(pair.higher), "propane");
    EXPECT_TRUE(picture(factors()).pairs.empty());
}

TEST(FactorPicture, ShiftsAreTheFindingsThemselves) {
    auto const points = factors();
    metrology::Finding shift;
    shift.id = "factor_shift:methane";
    shift.value = 1.2;
    shift.u = 0.1;
    metrology::Finding other;
    other.id = "cv_bias";
    auto const made = factor_picture(points,
                                     assay::factor_evidence(points, {}),
                                     nullptr,
                                     {other, shift},
                                     *metrology::shipped_criteria("custody"));
    ASSERT_EQ(made.sets.size(), 2U);
    ASSERT_EQ(made.sets[1].marks.size(), 1U);
    EXPECT_EQ(*made.sets[1].marks[0].finding.value, 1.2);
    auto const json = factor_picture_json(made);
    EXPECT_EQ(json["sets"][1]["id"], "shift");
    EXPECT_EQ(json["sets"][1]["marks"][0]["component"], "methane");
    EXPECT_EQ(json["sets"][1]["marks"][0]["finding"]["u"], 0.1);
}

TEST(FactorPicture, APassportTakesOutWhatAllShare) {
    auto const now = factors({{"ethane", 1.02}});
    assay::Calibration passport;
    for (auto const& point : factors()) {
        assay::Factor f;
        f.component = point.component;
        f.value = point.factor / 1.07;  // everything was injected 7 % larger since
        f.u = f.value * 0.001;
        passport.factors.push_back(f);
    }
    auto const pattern = passport_pattern(now, passport);
    EXPECT_NEAR(std::exp(pattern.shared), 1.07, 1e-9);
    auto const criteria = *metrology::shipped_criteria("custody");
    auto const made = factor_picture(now, assay::factor_evidence(now, {}), &pattern, {}, criteria);
    ASSERT_EQ(made.sets[0].id, "passport");
    EXPECT_NEAR(*mark(made.sets[0], "ethane").finding.value, 2, 1e-9);
    EXPECT_NEAR(*mark(made.sets[0], "methane").finding.value, 0, 1e-9);
    EXPECT_EQ(*passport_pattern_finding(pattern, criteria).value,
              *mark(made.sets[0], "ethane").finding.value);
    EXPECT_NEAR(*mark(made.sets[0], "methane").finding.u, 100 * std::hypot(0.001, 0.001), 1e-6);
}

TEST(FactorPicture, ShowsNothingOfNothing) { EXPECT_TRUE(picture({}).sets.empty()); }

}  // namespace
}  // namespace gw::visit
