#include "assay/factor_evidence.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace gw::assay {
namespace {

std::vector<char const*> const names = {"methane",
                                        "nitrogen",
                                        "carbon dioxide",
                                        "ethane",
                                        "propane",
                                        "isobutane",
                                        "n-butane",
                                        "neopentane",
                                        "isopentane",
                                        "n-pentane",
                                        "C6+"};

std::vector<FactorPoint> healthy(double scale = 60) {
    std::vector<FactorPoint> out;
    for (auto const* name : names) {
        auto const c = *gas::find_component(name);
        out.push_back({c, scale * *published_response(c, {}), 0, 1});
    }
    return out;
}

// Source: Dietz, J. Gas Chromatogr. 5 (1967) 68, and the lines of Rosie and Barry for n-alkanes,
// both from memory: RMR = 20.6 + 1.04 M up to propane, 6.7 + 1.35 M from propane on. The lines are
// good to 5 %.
TEST(PublishedResponses, LieOnTheLinesForNormalAlkanes) {
    struct Row {
        char const* name;
        double M;
        bool light;
    };
    for (auto const& row : {Row{"methane", 16.043, true},
                            {"ethane", 30.07, true},
                            {"n-butane", 58.122, false},
                            {"n-pentane", 72.149, false},
                            {"n-hexane", 86.175, false},
                            {"n-heptane", 100.2, false},
                            {"n-octane", 114.23, false}}) {
        double const line = row.light ? 20.6 + 1.04 * row.M : 6.7 + 1.35 * row.M;
        EXPECT_NEAR(*published_response(*gas::find_component(row.name), {}) / line, 1, 0.05)
            << row.name;
    }
    EXPECT_FALSE(published_response(*gas::find_component("helium"), {}));
}

TEST(FactorEvidenceOf, IsQuietForAHealthySet) {
    auto const e = factor_evidence(healthy(), {});
    EXPECT_TRUE(e.order_testable);
    EXPECT_TRUE(e.pairs.empty());
    ASSERT_TRUE(e.largest);
    EXPECT_NEAR(e.largest->departure, 0, 1e-12);
}

TEST(FactorEvidenceOf, SeesAnExchangeOfTwoEntries) {
    auto f = healthy();
    std::swap(f[5].factor, f[6].factor);
    auto const e = factor_evidence(f, {});
    ASSERT_EQ(e.pairs.size(), 1U);
    EXPECT_EQ(e.pairs[0].lower, f[5].component);
}

TEST(FactorEvidenceOf, FindsPlantedErrorOfFivePercentWhereAStraightLineWouldNot) {
    auto f = healthy();
    f[4].factor *= 1.05;
    auto const e = factor_evidence(f, {});
    EXPECT_EQ(e.largest->component, f[4].component);
    EXPECT_NEAR(e.largest->departure, std::log(1.05), 1e-12);
}

TEST(FactorEvidenceOf, ComparesOnlyWithinOneDetector) {
    auto f = healthy();
    for (std::size_t i = 0; i < 4; ++i) f[i].detector = 2, f[i].factor *= 3;
    auto const e = factor_evidence(f, {});
    EXPECT_TRUE(e.pairs.empty());
    EXPECT_NEAR(e.largest->departure, 0, 1e-12);
}

TEST(FactorEvidenceOf, ForgivesAnOrderThatUncertaintyExplains) {
    auto f = healthy();
    f[5].factor = f[6].factor * 1.002;
    for (auto& p : f) p.relative_u = 0.002;
    EXPECT_TRUE(factor_evidence(f, {}).pairs.empty());
    f[5].factor = f[6].factor * 1.02;
    EXPECT_FALSE(factor_evidence(f, {}).pairs.empty());
}

TEST(FactorEvidenceOf, LetsAnyUsualHeavyEndPass) {
    auto f = healthy();
    f[10].factor = 60 * 121;  // pure hexanes
    EXPECT_LT(std::abs(factor_evidence(f, {}).largest->departure), 1e-9);
    f[10].factor = 60 * 105;
    EXPECT_GT(std::abs(factor_evidence(f, {}).largest->departure), 0.05);
}

TEST(FactorsOfAReport, TellsTheKindOfAnUnstatedFactorByItsPattern) {
    for (bool const inverse : {false, true}) {
        std::string text = "component,factor\n";
        for (auto const& p : healthy())
            text += std::string(gas::name(p.component)) + "," +
                    std::to_string(inverse ? 1e6 / p.factor : p.factor) + "\n";
        auto const report = trace::read_report(text, "r.csv");
        ASSERT_TRUE(report) << report.error().what;
        auto const e = factor_evidence(factors_of(*report, nullptr).points, {});
        EXPECT_TRUE(e.pairs.empty()) << inverse;
    }
}

TEST(FactorsOfAReport, NoticesAFactorThatItsOwnAreaContradicts) {
    auto const report = trace::read_report(
        "# factor_kind: "
        "area_per_amount\ncomponent,area,mole_percent,factor\nmethane,1935,90,21.5\nethane,154,5,"
        "30.8\npropane,77.4,2,38.7\nn-butane,25.5,0.5,55\n",
        "r.csv");
    ASSERT_TRUE(report);
    auto const f = factors_of(*report, nullptr);
    ASSERT_EQ(f.warnings.size(), 1U);
    EXPECT_NE(f.warnings[0].find("n-butane"), std::string::npos);
}

}  // namespace
}  // namespace gw::assay
