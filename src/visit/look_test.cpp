#include "visit/look.hpp"

#include <gtest/gtest.h>

#include "visit/valued_run.hpp"

namespace gw::visit {
namespace {

// A typed ten-line report: areas that follow the published responses, amounts as the certificate
// says.
std::string report(std::string const& methane = "88.0",
                   std::string const& propane = "2.0",
                   std::string const& isobutane = "0.3",
                   std::string const& butane = "0.5") {
    return "component, area, mole_percent\nC6+, 82.3, 0.10\npropane, 774, " + propane +
           "\nisobutane, 147.6, " + isobutane + "\nn-butane, 255, " + butane +
           "\nisopentane, 91.8, 0.15\nn-pentane, 94.5, 0.15\nnitrogen, 630, 2.55\nmethane, "
           "18850, " +
           methane + "\ncarbon dioxide, 360, 1.25\nethane, 1536, 5.0\n";
}

Look look_at(std::string const& text) {
    auto const r = trace::read_report(text, "report");
    EXPECT_TRUE(r) << r.error().what;
    auto const answer = look(*r, nullptr, *metrology::shipped_criteria("custody"), Date{20000});
    EXPECT_TRUE(answer) << answer.error().what;
    return *answer;
}

metrology::Finding const& finding(Look const& l, std::string_view id) {
    for (auto const& f : l.findings)
        if (f.id == id) return f;
    throw std::runtime_error("no finding " + std::string(id));
}

TEST(LookAtAReport, IsQuietAboutAHealthyOne) {
    auto const l = look_at(report());
    EXPECT_EQ(l.verdict, metrology::Verdict::meets);
    EXPECT_TRUE(l.suspects.empty());
}

TEST(LookAtAReport, SuspectsTheEntryThatStandsOut) {
    auto const l = look_at(report("88.0", "2.4"));
    EXPECT_EQ(l.verdict, metrology::Verdict::fails);
    EXPECT_EQ(finding(l, "certificate_sum").verdict, metrology::Verdict::fails);
    EXPECT_EQ(finding(l, "factor_pattern").verdict, metrology::Verdict::fails);
    ASSERT_FALSE(l.suspects.empty());
    EXPECT_EQ(l.suspects[0].id, "certificate_entry:propane");
    EXPECT_LE(l.suspects.size(), 3U);
}

TEST(LookAtAReport, RecognisesExchangedIsomers) {
    auto const l = look_at(report("88.0", "2.0", "0.5", "0.3"));
    ASSERT_FALSE(l.suspects.empty());
    EXPECT_EQ(l.suspects[0].id, "entries_exchanged");
    EXPECT_EQ(finding(l, "factor_order").verdict, metrology::Verdict::fails);
}

TEST(LookAtAReport, PointsToTheAmountInjectedWhenOnlyTheTotalIsOff) {
    auto const l = look_at("# unnormalised_total: 97.8\n" + report());
    ASSERT_FALSE(l.suspects.empty());
    EXPECT_EQ(l.suspects[0].id, "amount_injected");
    EXPECT_EQ(finding(l, "unnormalised_total").verdict, metrology::Verdict::fails);
}

TEST(LookAtAReport, FindsTheReferenceConditionsOfAPrintedCalorificValue) {
    // 25/0 instead of 15/15 makes about 5 %: the value is right, at other conditions.
    auto const right = look_at("# printed_cv: 38.93\n" + report());
    EXPECT_NE(finding(right, "certificate_cv").value, std::nullopt);
    auto const r = trace::read_report(report(), "report");
    gas::Composition const gas = assay::printed_composition(*r)->gas;
    gas::Iso6976Options at;
    at.combustion = gas::CombustionTemperature::c25;
    at.metering = gas::MeteringTemperature::c0;
    auto const value = lumped_cv_gradient(gas, {}, at)->value.value;
    auto const l = look_at("# printed_cv: " + std::to_string(value) + "\n" + report());
    EXPECT_EQ(finding(l, "certificate_cv").verdict, metrology::Verdict::meets);
    EXPECT_NE(finding(l, "certificate_cv").note.find("25 degC, metering 0"), std::string::npos);
}

TEST(LookAtAReport, RefusesNobodyForWhatTheReportLacks) {
    auto const l = look_at("component,mole_percent\nmethane,95\nethane,5\n");
    EXPECT_EQ(finding(l, "factor_order").verdict, metrology::Verdict::not_applicable);
    EXPECT_EQ(l.verdict, metrology::Verdict::meets);
}

}  // namespace
}  // namespace gw::visit
