#include "visit/prove.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>

namespace gw::visit {
namespace {

assay::Cylinder cylinder(char const* serial,
                         char const* role,
                         double methane,
                         double ethane,
                         double u_methane,
                         bool with_u = true) {
    auto const u = [&](double value) {
        return with_u ? fmt::format(R"(,"expanded_uncertainty":{},"k":2)", value) : std::string();
    };
    auto const text = fmt::format(
        R"({{"serial":"{}","role":"{}","expires":"2030-01-01","certificate":{{"unit":"mol%","components":{{
        "methane":{{"value":{}{}}},"ethane":{{"value":{}{}}},"propane":{{"value":{}{}}}}}}},"pressure_kpa":3000,"minimum_pressure_kpa":700,"water_capacity_l":10}})",
        serial,
        role,
        methane,
        u(u_methane),
        ethane,
        u(0.01),
        100 - methane - ethane,
        u(0.005));
    auto const document = parse_json(text, "c.json");
    return *assay::read_cylinder(document->root());
}

ProofRun printed(double methane, double ethane, double propane, std::string const& header = "") {
    auto const text = fmt::format("{}component,mole_percent\nmethane,{}\nethane,{}\npropane,{}\n",
                                  header,
                                  methane,
                                  ethane,
                                  propane);
    ProofRun run;
    run.source = "run";
    run.report = *trace::read_report(text, "run.csv");
    run.hash = run.report->hash;
    return run;
}

ProofInputs inputs() {
    ProofInputs in;
    in.criteria = *metrology::shipped_criteria("custody");
    in.calibration_cylinder = cylinder("A", "calibration", 90, 8, 0.06);
    in.proving_cylinder = cylinder("B", "proving", 92, 6, 0.06);
    in.on = *parse_date("2026-01-01", "test");
    for (double const wobble : {-0.002, 0.0, 0.002, 0.001, -0.001}) {
        in.proving_gas.push_back(printed(92 - wobble, 6 + wobble, 2));
        in.calibration_gas.push_back(printed(90 - wobble, 8 + wobble, 2));
    }
    return in;
}

metrology::Finding const* find(Proof const& p, std::string_view id) {
    for (auto const& f : p.findings)
        if (f.id == id) return &f;
    return nullptr;
}

TEST(Prove, MeetsWhenAnIndependentGasReadsRight) {
    auto const p = prove(inputs());
    ASSERT_TRUE(p) << p.error().what;
    auto const* bias = find(*p, "cv_bias");
    ASSERT_NE(bias, nullptr);
    EXPECT_NEAR(*bias->value, 0, 1e-3);
    EXPECT_EQ(bias->verdict, metrology::Verdict::meets);
    EXPECT_EQ(p->verdict, metrology::Verdict::meets);
    EXPECT_EQ(bias->n, 5);
    EXPECT_EQ(bias->inputs.size(), 5U);
}

TEST(Prove, CombinesScatterAndBothCertificatesIntoTheUncertainty) {
    auto in = inputs();
    auto const p = prove(in);
    // The parts by hand: gradient of the calorific value through both certificates' covariances.
    auto const part = [&](assay::Cylinder const& c, gas::Composition const& at, bool relative) {
        auto const certified = assay::certified_gas(c);
        auto const slope = *lumped_cv_gradient(at, {}, {});
        gas::Composition raw = at;
        raw.V = SquareMatrix(3);
        for (std::size_t i = 0; i < 3; ++i)
            for (std::size_t j = 0; j < 3; ++j)
                raw.V(i, j) = relative ? certified.V(i, j) * at.x[i] * at.x[j] /
                                             (certified.x[i] * certified.x[j])
                                       : certified.V(i, j);
        auto const V = relative ? gas::normalised(raw).V : raw.V;
        return quadratic_form(V, slope.per_fraction);
    };
    auto const proving = assay::certified_gas(*in.proving_cylinder);
    double const cv = assay::certified_calorific_value(*in.proving_cylinder)->value;
    double const u = 100 *
                     std::sqrt(part(*in.proving_cylinder, proving, false) +
                               part(*in.calibration_cylinder, proving, true)) /
                     cv;
    auto const* bias = find(*p, "cv_bias");
    EXPECT_NEAR(*bias->u, u, 0.02 * u) << "the runs' own scatter is small here";
    EXPECT_GT(*bias->u, u);
}

TEST(Prove, SaysWhatTwoCylindersOfOneParentCannotShow) {
    auto in = inputs();
    in.calibration_cylinder->laboratory = in.proving_cylinder->laboratory = "one laboratory";
    auto const together = prove(in);
    ASSERT_TRUE(together);
    auto const* bias = find(*together, "cv_bias");
    EXPECT_NE(bias->note.find("takes no credit"), std::string::npos);
    EXPECT_NE(find(*together, "component_bias:methane")->note.find("parent"), std::string::npos);
    ASSERT_TRUE(together->evidence.shared_u_percent);
    EXPECT_GT(*together->evidence.shared_u_percent, 0);
    EXPECT_LT(*together->evidence.shared_u_percent, *bias->u);
    in.proving_cylinder->independent_of = {"A"};
    auto const apart = prove(in);
    EXPECT_FALSE(apart->evidence.shared_u_percent);
    EXPECT_NEAR(*find(*apart, "cv_bias")->u, *bias->u, 1e-12) << "no credit for what cancels";
    EXPECT_EQ(find(*apart, "cv_bias")->note, "");
}

TEST(Prove, FailsAndIsUnclearWhereTheIntervalSaysSo) {
    auto in = inputs();
    in.proving_gas.clear();
    for (double const wobble : {-0.001, 0.0, 0.001})
        in.proving_gas.push_back(printed(92.5 + wobble, 5.5 - wobble, 2));
    EXPECT_EQ(find(*prove(in), "cv_bias")->verdict, metrology::Verdict::fails);
    in.proving_gas.clear();
    for (double const wobble : {-0.001, 0.0, 0.001})
        in.proving_gas.push_back(printed(92.14 + wobble, 5.86 - wobble, 2));
    auto const p = prove(in);
    EXPECT_EQ(find(*p, "cv_bias")->verdict, metrology::Verdict::unclear)
        << *find(*p, "cv_bias")->value << " " << *find(*p, "cv_bias")->u;
    EXPECT_EQ(p->verdict, metrology::Verdict::unclear);
}

TEST(Prove, IsMissingWithoutAnIndependentGas) {
    auto in = inputs();
    in.proving_cylinder.reset();
    in.proving_gas.clear();
    auto const p = prove(in);
    ASSERT_TRUE(p);
    EXPECT_EQ(find(*p, "cv_bias")->verdict, metrology::Verdict::missing);
    EXPECT_EQ(p->verdict, metrology::Verdict::missing);
    EXPECT_EQ(find(*p, "cv_self_check")->verdict, metrology::Verdict::meets) << "and does not help";
    EXPECT_EQ(find(*p, "cv_repeatability")->gas, "calibration");
}

TEST(Prove, IsNotFooledByTheCalibrationCylinderInAnotherRole) {
    auto in = inputs();
    in.proving_cylinder = cylinder("A", "proving", 92, 6, 0.06);
    EXPECT_EQ(find(*prove(in), "cv_bias")->verdict, metrology::Verdict::missing);
}

TEST(Prove, ShowsNoConformityOnACertificateWithoutUncertainty) {
    auto in = inputs();
    in.proving_cylinder = cylinder("B", "proving", 92, 6, 0.06, false);
    auto const p = prove(in);
    EXPECT_EQ(find(*p, "cv_bias")->verdict, metrology::Verdict::unclear);
    EXPECT_FALSE(find(*p, "cv_bias")->u);
}

TEST(Prove, WantsThreeRunsForRepeatability) {
    auto in = inputs();
    in.proving_gas.resize(2);
    auto const p = prove(in);
    EXPECT_EQ(find(*p, "cv_repeatability")->verdict, metrology::Verdict::missing);
    EXPECT_EQ(p->verdict, metrology::Verdict::missing);
}

TEST(Prove, HoldsComponentsAndTotalsAgainstTheirReferences) {
    auto in = inputs();
    in.proving_gas.clear();
    for (double const wobble : {-0.001, 0.0, 0.001})
        in.proving_gas.push_back(printed(0.98 * (91.8 + wobble), 0.98 * (6.2 - wobble), 0.98 * 2));
    auto const p = prove(in);
    EXPECT_NEAR(*find(*p, "component_bias:ethane")->value, 0.2, 1e-9);
    EXPECT_NEAR(*find(*p, "unnormalised_total")->value, 98, 1e-9);
    EXPECT_EQ(find(*p, "unnormalised_total")->verdict, metrology::Verdict::fails);
    EXPECT_EQ(p->verdict, metrology::Verdict::fails);
}

TEST(Prove, DoesNotTakeANormalisedSumForEvidence) {
    auto in = inputs();
    for (auto& run : in.proving_gas) run.report->normalised = true;
    EXPECT_EQ(find(*prove(in), "unnormalised_total")->verdict, metrology::Verdict::missing);
}

TEST(Prove, WarnsOfExpiredGases) {
    auto in = inputs();
    in.on = *parse_date("2031-01-01", "test");
    auto const p = prove(in);
    EXPECT_GE(p->warnings.size(), 2U);
}

TEST(Prove, SaysWhatWouldHaveToBeTrueForItToBeWrong) {
    auto const p = prove(inputs());
    ASSERT_TRUE(p);
    ASSERT_FALSE(p->evidence.wrong_if.empty());
    EXPECT_NE(p->evidence.wrong_if[0].find("meets"), std::string::npos);
    EXPECT_TRUE(p->evidence.shared_parent);  // no laboratory is named
    EXPECT_TRUE(p->evidence.ladder.empty());
    ASSERT_TRUE(p->evidence.runs_needed.runs);
    EXPECT_LE(*p->evidence.runs_needed.runs, 5U);
    EXPECT_NEAR(p->evidence.consistency.at(0).normalised_error, 0, 0.1);
}

TEST(Prove, WithoutAProvingGasNamesTheWeakerProofs) {
    auto in = inputs();
    in.proving_gas.clear();
    in.proving_cylinder.reset();
    auto const p = prove(in);
    ASSERT_TRUE(p);
    EXPECT_EQ(p->evidence.ladder.size(), 5U);
    EXPECT_TRUE(p->evidence.runs_needed.runs || !p->evidence.runs_needed.why.empty());
}

TEST(Prove, BiasOfWobbeAndDensityFollowsTheComposition) {
    auto in = inputs();
    in.proving_gas.clear();
    for (double const wobble : {-0.001, 0.0, 0.001})
        in.proving_gas.push_back(printed(91.7 - wobble, 6 + wobble, 2.3));
    auto const p = prove(in);
    ASSERT_TRUE(p);
    auto const* density = find(*p, "density_bias");
    auto const* wobbe = find(*p, "wobbe_bias");
    ASSERT_NE(density, nullptr);
    ASSERT_NE(wobbe, nullptr);
    // 0.3 mol% of methane (16.043) read as propane (44.097) in a gas of about 17.5 kg/kmol.
    EXPECT_NEAR(*density->value, 100 * 0.003 * (44.097 - 16.043) / 17.45, 0.02);
    EXPECT_GT(*wobbe->value, 0);
    EXPECT_LT(*wobbe->value, *density->value);
    EXPECT_EQ(density->verdict, metrology::Verdict::no_limit);
    EXPECT_GT(*density->u, 0);
}

TEST(Prove, KeepsARunThatStandsOutAndSeesTheGasBefore) {
    auto in = inputs();
    in.proving_gas.clear();
    in.proving_gas.push_back(printed(91.5, 6.5, 2));  // still some of the gas before
    for (double const wobble : {-0.002, 0.0, 0.002, 0.001, -0.001})
        in.proving_gas.push_back(printed(92 - wobble, 6 + wobble, 2));
    auto const p = prove(in);
    ASSERT_TRUE(p);
    auto const* bias = find(*p, "cv_bias");
    EXPECT_EQ(bias->n, 6);
    bool carried = false;
    for (auto const& c : p->evidence.carry_over)
        carried = carried || (c.gas == "proving" && c.seen);
    EXPECT_TRUE(carried);
    ASSERT_EQ(p->evidence.outstanding.size(), 1U);
    EXPECT_TRUE(p->evidence.outstanding[0].outlier);
}

TEST(Prove, BringsTheTotalToThePressureOfTheCalibration) {
    auto in = inputs();
    for (auto& run : in.calibration_gas) run.ambient_kpa = 101.0;
    for (auto& run : in.proving_gas) run.ambient_kpa = 100.0;
    auto const p = prove(in);
    ASSERT_TRUE(p);
    ASSERT_EQ(p->evidence.corrected_totals.size(), 1U);
    EXPECT_NEAR(p->evidence.corrected_totals[0].corrected,
                p->evidence.corrected_totals[0].as_found * 1.01,
                1e-9);
}

}  // namespace
}  // namespace gw::visit
