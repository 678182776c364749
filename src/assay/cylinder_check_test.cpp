#include "assay/cylinder_check.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>

namespace gw::assay {
namespace {

using metrology::Finding;
using metrology::Verdict;

Date const day = *parse_date("2026-06-01", "");

// An invented certificate that passes every check; `u` scales its uncertainties.
Cylinder sound(double u = 1.0) {
    Json file{{"serial", "A1"},
              {"role", "proving"},
              {"certified", "2026-03-02"},
              {"expires", "2027-03-02"},
              {"pressure_kpa", 2800},
              {"minimum_pressure_kpa", 700},
              {"minimum_storage_c", -5},
              {"coldest_recorded_c", 3}};
    Json components = Json::object();
    components["methane"] = Json{{"value", 88.0}, {"expanded_uncertainty", 0.03 * u}};
    components["nitrogen"] = Json{{"value", 2.5}, {"expanded_uncertainty", 0.005 * u}};
    components["ethane"] = Json{{"value", 6.5}, {"expanded_uncertainty", 0.008 * u}};
    components["n-butane"] = Json{{"value", 3.0}, {"expanded_uncertainty", 0.006 * u}};
    file["certificate"] = Json{{"unit", "mol%"}, {"components", components}};
    return read_cylinder(Field(file, "f:")).value();
}

CylinderCheck check(Cylinder const& cylinder,
                    std::optional<double> ambient_c = {},
                    std::string_view criteria = "custody") {
    CylinderCheckOptions options{day, {}};
    if (ambient_c) options.ambient = celsius(*ambient_c);
    auto out = cylinder_check(cylinder, metrology::shipped_criteria(criteria).value(), options);
    EXPECT_TRUE(out) << one_line(out.error());
    return std::move(out).value();
}

Finding const& finding(CylinderCheck const& check, std::string_view id) {
    for (auto const& f : check.findings)
        if (f.id == id) return f;
    ADD_FAILURE() << "no finding " << id;
    return check.findings.front();
}

TEST(CylinderCheck, ASoundCylinderMeets) {
    auto const c = check(sound());
    std::vector<std::string> ids;
    for (auto const& f : c.findings) ids.push_back(f.id);
    EXPECT_EQ(ids,
              (std::vector<std::string>{"certificate_sum",
                                        "certificate_cv",
                                        "expiry",
                                        "pressure",
                                        "cold_exposure",
                                        "can_decide"}));
    EXPECT_EQ(c.verdict, Verdict::meets);
    EXPECT_EQ(finding(c, "certificate_cv").verdict, Verdict::missing);
    EXPECT_FALSE(finding(c, "certificate_cv").required);
    EXPECT_EQ(finding(c, "expiry").value, 274);
}

TEST(CylinderCheck, TheSumMayMissAHundredByRoundingAlone) {
    auto cylinder = sound();  // four amounts to 0.1 mol%: 100 +- 0.05 sqrt(4)
    EXPECT_NEAR(*finding(check(cylinder), "certificate_sum").high, 100.1, 1e-9);
    cylinder.printed.x[0] = 0.881;
    EXPECT_EQ(finding(check(cylinder), "certificate_sum").verdict, Verdict::meets) << "on the edge";
    cylinder.printed.x[0] = 0.8815;
    auto const c = check(cylinder);
    EXPECT_EQ(finding(c, "certificate_sum").verdict, Verdict::fails);
    EXPECT_EQ(c.verdict, Verdict::fails);
    cylinder.balance_by_difference = true;
    EXPECT_EQ(finding(check(cylinder), "certificate_sum").verdict, Verdict::not_applicable);
}

TEST(CylinderCheck, ThePrintedCalorificValueIsRecomputed) {
    auto cylinder = sound();
    double const right = certified_calorific_value(cylinder)->value;
    cylinder.stated_calorific_value = StatedCalorificValue{right * 1.0001, {}};
    auto const close = finding(check(cylinder), "certificate_cv");
    EXPECT_NEAR(*close.value, 0.01, 1e-9) << "printed minus recomputed, percent";
    EXPECT_EQ(close.verdict, Verdict::meets);
    cylinder.stated_calorific_value->mj_per_m3 = right * 0.9997;
    EXPECT_EQ(check(cylinder).verdict, Verdict::fails);
}

TEST(CylinderCheck, AValueOfOtherReferenceConditionsIsRecognised) {
    auto cylinder = sound();
    gas::Iso6976Options at;
    at.combustion = gas::CombustionTemperature::c25;
    at.metering = gas::MeteringTemperature::c0;
    cylinder.stated_calorific_value =
        StatedCalorificValue{certified_calorific_value(cylinder, at)->value, {}};
    auto const f = finding(check(cylinder), "certificate_cv");
    EXPECT_EQ(f.verdict, Verdict::fails);
    EXPECT_NE(f.note.find("25 degC combustion and 0 degC metering"), std::string::npos) << f.note;
    cylinder.stated_calorific_value->at = at;
    EXPECT_EQ(finding(check(cylinder), "certificate_cv").verdict, Verdict::meets);
}

TEST(CylinderCheck, ExpiryCountsTheLastDayIn) {
    auto cylinder = sound();
    cylinder.expires = day;
    EXPECT_EQ(finding(check(cylinder), "expiry").verdict, Verdict::meets);
    cylinder.expires = Date{day.days - 1};
    EXPECT_EQ(check(cylinder).verdict, Verdict::fails);
    cylinder.expires.reset();
    EXPECT_EQ(check(cylinder).verdict, Verdict::missing);
}

TEST(CylinderCheck, PressureIsHeldAgainstTheCertificateElseUsualPractice) {
    auto cylinder = sound();
    cylinder.pressure = kilopascal(699);
    EXPECT_EQ(check(cylinder).verdict, Verdict::fails);
    cylinder.minimum_pressure.reset();
    EXPECT_EQ(finding(check(cylinder), "pressure").limit_source, "common practice, no source");
    cylinder.pressure.reset();
    EXPECT_EQ(finding(check(cylinder), "pressure").verdict, Verdict::missing);
}

TEST(CylinderCheck, TheColderOfRecordAndAmbientCounts) {
    auto cylinder = sound();
    EXPECT_EQ(finding(check(cylinder), "cold_exposure").value, 3);
    EXPECT_EQ(finding(check(cylinder, 10), "cold_exposure").value, 3);
    EXPECT_EQ(finding(check(cylinder, -4.9), "cold_exposure").value, -4.9);
    EXPECT_EQ(check(cylinder, -5.1).verdict, Verdict::fails);
    cylinder.coldest_recorded.reset();
    auto const unknown = finding(check(cylinder), "cold_exposure");
    EXPECT_EQ(unknown.verdict, Verdict::missing);
    EXPECT_FALSE(unknown.required);
    EXPECT_EQ(finding(check(cylinder, 1), "cold_exposure").verdict, Verdict::meets);
    cylinder.minimum_storage.reset();
    EXPECT_EQ(finding(check(cylinder, -40), "cold_exposure").verdict, Verdict::missing);
    EXPECT_EQ(check(cylinder, -40).verdict, Verdict::meets);
}

TEST(CylinderCheck, ACylinderTooUncertainCannotDecide) {
    double const share = *finding(check(sound()), "can_decide").value;  // percent, 2 u
    auto const cv = certified_calorific_value(sound()).value();
    EXPECT_NEAR(share, 200 * *cv.u / cv.value, 1e-12);
    auto const judged = [&](double percent) { return check(sound(percent / share)); };
    auto const good = judged(0.033);
    EXPECT_EQ(finding(good, "can_decide").verdict, Verdict::meets);
    EXPECT_TRUE(finding(good, "can_decide").note.empty());
    auto const tight = judged(0.05);
    EXPECT_EQ(finding(tight, "can_decide").verdict, Verdict::meets);
    EXPECT_FALSE(finding(tight, "can_decide").note.empty());
    EXPECT_EQ(tight.warnings.size(), good.warnings.size() + 1);
    auto const wide = judged(0.101);
    EXPECT_EQ(wide.verdict, Verdict::fails);
    EXPECT_NE(finding(wide, "can_decide").note.find("cannot decide"), std::string::npos);
    EXPECT_EQ(finding(judged(0.051), "can_decide").high, 0.1);
    EXPECT_EQ(finding(check(sound(0.4 / share), {}, "oiml-a"), "can_decide").verdict,
              Verdict::meets);
    EXPECT_EQ(finding(check(sound(), {}, "us-federal"), "can_decide").verdict, Verdict::no_limit);
}

TEST(CylinderCheck, WithoutCertificateUncertaintyNothingIsDecided) {
    auto cylinder = sound();
    cylinder.printed.V = {};
    auto const c = check(cylinder);
    EXPECT_EQ(finding(c, "can_decide").verdict, Verdict::missing);
    EXPECT_TRUE(finding(c, "can_decide").required);
    EXPECT_EQ(c.verdict, Verdict::missing);
}

TEST(CylinderCheck, CriteriaMayReplaceALimitOfTheCylinder) {
    auto criteria = metrology::shipped_criteria("custody").value();
    metrology::Criterion c;
    c.low = 300;
    c.unit = "days";
    c.rule = metrology::Rule::simple;
    c.source = "site rule";
    criteria.limits["expiry"] = c;
    auto const out = cylinder_check(sound(), criteria, {day, {}});
    EXPECT_EQ(finding(*out, "expiry").verdict, Verdict::fails);
}

}  // namespace
}  // namespace gw::assay
