#include "assay/calibration.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "assay/composition_of_run.hpp"
#include "base/random.hpp"

namespace gw::assay {
namespace {

Cylinder cylinder(std::string const& components, std::string const& more = "") {
    auto const document = parse_json(
        R"({"serial":"T-1","role":"calibration","certificate":{"unit":"mol%","components":{)" +
            components + "}}" + more +
            R"(,"pressure_kpa":3000,"minimum_pressure_kpa":700,"water_capacity_l":10})",
        "c.json");
    return *read_cylinder(document->root());
}

std::string const three = R"("methane":{"value":90,"expanded_uncertainty":0.09,"k":2},
    "ethane":{"value":8,"expanded_uncertainty":0.02,"k":2},"propane":{"value":2,"expanded_uncertainty":0.01,"k":2})";

Method method() {
    Method m;
    m.cycle_s = 100;
    for (auto const* name : {"methane", "ethane", "propane"}) {
        ExpectedPeak p;
        p.component = *gas::find_component(name);
        p.retention_s = 10 + 20 * static_cast<double>(m.peaks.size());
        p.window_s = 5;
        m.peaks.push_back(p);
    }
    return m;
}

RunAreas run(std::vector<double> const& areas, std::string source = "run") {
    RunAreas r;
    r.source = std::move(source);
    auto const m = method();
    for (std::size_t i = 0; i < areas.size(); ++i)
        r.areas.push_back({m.peaks[i].component, areas[i], 0, m.peaks[i].retention_s, 1});
    return r;
}

TEST(Calibrate, GivesAreaPerAmountAndTheCertificatesUncertainty) {
    auto const c =
        calibrate({run({1800, 200, 60}), run({1800, 200, 60})}, method(), cylinder(three));
    ASSERT_TRUE(c) << c.error().what;
    EXPECT_DOUBLE_EQ(c->factors[0].value, 1800 / 0.9);
    EXPECT_DOUBLE_EQ(c->factors[2].value, 60 / 0.02);
    // Runs agree exactly: what is left is the certificate, through the constraint that amounts sum
    // to one. Hand-made: V* = J V J' with J = I - x 1', first row, u = (0.045, 0.01, 0.005) mol%.
    double const u1 = std::sqrt(std::pow(0.1 * 0.00045, 2) + std::pow(0.9 * 0.0001, 2) +
                                std::pow(0.9 * 0.00005, 2));
    EXPECT_NEAR(c->factors[0].u / c->factors[0].value, u1 / 0.9, 1e-12);
}

TEST(Calibrate, RejectsARunWithAnOutlierWholeAndSaysWhy) {
    std::vector<RunAreas> runs;
    RandomStream random(3, 1);
    for (int i = 0; i < 6; ++i) {
        double const common = 1 + 0.0005 * random.normal();
        runs.push_back(run({1800 * common * (1 + 0.0001 * random.normal()),
                            200 * common * (1 + 0.0001 * random.normal()),
                            60 * common},
                           "run " + std::to_string(i)));
    }
    runs[3].areas[1].area *= 1.05;
    auto const c = calibrate(runs, method(), cylinder(three));
    ASSERT_TRUE(c);
    ASSERT_EQ(c->runs_rejected.size(), 1U);
    EXPECT_EQ(c->runs_rejected[0].source, "run 3");
    EXPECT_NE(c->runs_rejected[0].reason.find("ethane"), std::string::npos);
    EXPECT_EQ(c->runs_used.size(), 5U);
    EXPECT_NEAR(c->factors[1].value, 2500, 2);
}

TEST(Calibrate, NeverThinsThreeRuns) {
    auto const c = calibrate({run({1800, 200, 60}), run({1800.1, 200, 60}), run({1900, 210, 63})},
                             method(),
                             cylinder(three));
    ASSERT_TRUE(c);
    EXPECT_TRUE(c->runs_rejected.empty());
}

TEST(Calibrate, RefusesAComponentThatElutesNowhere) {
    auto const c = calibrate(
        {run({1800, 200, 60})},
        method(),
        cylinder(R"("methane":{"value":90},"ethane":{"value":8},"nitrogen":{"value":2})"));
    ASSERT_FALSE(c);
    EXPECT_NE(c.error().what.find("nitrogen"), std::string::npos);
}

TEST(Calibrate, LeavesOutRunsThatLackAComponent) {
    auto const c =
        calibrate({run({1800, 200}, "short"), run({1800, 200, 60})}, method(), cylinder(three));
    ASSERT_TRUE(c);
    ASSERT_EQ(c->runs_rejected.size(), 1U);
    EXPECT_EQ(c->runs_rejected[0].source, "short");
}

TEST(Calibrate, TakesACertificateWithoutUncertaintyAndSaysSo) {
    auto const c = calibrate({run({1800, 200, 60}), run({1801, 200, 60})},
                             method(),
                             cylinder(R"("methane":90,"ethane":8,"propane":2)"));
    ASSERT_TRUE(c) << c.error().what;
    bool said = false;
    for (auto const& w : c->warnings) said = said || w.find("no uncertainty") != std::string::npos;
    EXPECT_TRUE(said);
}

TEST(Calibrate, BorrowsAFactorByRatioWithItsUncertainty) {
    auto m = method();
    ExpectedPeak butane;
    butane.component = *gas::find_component("n-butane");
    butane.retention_s = 80;
    butane.window_s = 5;
    butane.factor_from = FactorFrom{m.peaks[2].component, 1.3, 0.013};
    m.peaks.push_back(butane);
    auto const c = calibrate({run({1800, 200, 60}), run({1800, 200, 60})}, m, cylinder(three));
    ASSERT_TRUE(c) << c.error().what;
    auto const* f = c->find(butane.component);
    ASSERT_NE(f, nullptr);
    EXPECT_DOUBLE_EQ(f->value, 1.3 * 3000);
    double const own = c->find(m.peaks[2].component)->u / 3000;
    EXPECT_NEAR(f->u / f->value, std::hypot(own, 0.01), 1e-9);
    EXPECT_TRUE(is_covariance(c->relative_covariance));
}

TEST(CalibrationFile, ReadsBackWhatItWrote) {
    auto const c =
        calibrate({run({1800, 200, 60}), run({1810, 201, 60.2}), run({1795, 199.6, 59.9})},
                  method(),
                  cylinder(three));
    ASSERT_TRUE(c);
    auto const text = to_text(calibration_json(*c));
    auto const document = parse_json(text, "cal.json");
    auto const back = read_calibration(document->root());
    ASSERT_TRUE(back) << back.error().what;
    ASSERT_EQ(back->factors.size(), 3U);
    for (std::size_t i = 0; i < 3; ++i) {
        EXPECT_EQ(back->factors[i].value, c->factors[i].value);
        EXPECT_EQ(back->factors[i].u, c->factors[i].u);
        for (std::size_t j = 0; j < 3; ++j)
            EXPECT_EQ(back->relative_covariance(i, j), c->relative_covariance(i, j));
    }
    EXPECT_EQ(back->runs_used, c->runs_used);
}

TEST(CompositionOfRun, ClosesToOneWithRowsOfTheCovarianceSummingToZero) {
    auto const c =
        calibrate({run({1800, 200, 60}), run({1805, 200.4, 60.3}), run({1798, 199.7, 59.8})},
                  method(),
                  cylinder(three));
    auto const x = composition_of(run({1700, 260, 40}), method(), *c);
    ASSERT_TRUE(x) << x.error().what;
    EXPECT_NEAR(x->gas.total(), 1, 1e-12);
    EXPECT_NEAR(x->unnormalised_total,
                1700 / c->factors[0].value + 260 / c->factors[1].value + 40 / c->factors[2].value,
                1e-12);
    for (std::size_t i = 0; i < 3; ++i) {
        double row = 0;
        for (std::size_t j = 0; j < 3; ++j) row += x->gas.V(i, j);
        EXPECT_NEAR(row, 0, 1e-15);
    }
}

TEST(CompositionOfRun, KeepsFixedComponentsAsStated) {
    auto m = method();
    m.fixed.emplace_back(*gas::find_component("helium"), 0.02);
    auto const c = calibrate({run({1800, 200, 60}), run({1801, 200, 60})}, m, cylinder(three));
    ASSERT_TRUE(c);
    auto const x = composition_of(run({1800, 200, 60}), m, *c);
    ASSERT_TRUE(x);
    EXPECT_DOUBLE_EQ(x->gas.fraction(*gas::find_component("helium")), 0.02);
    EXPECT_NEAR(x->gas.fraction(*gas::find_component("methane")), 0.9 * 0.98, 1e-4);
    EXPECT_NEAR(x->gas.total(), 1, 1e-12);
}

TEST(CompositionOfRun, GivesMethaneAllTheErrorWhenItIsTheDifference) {
    auto m = method();
    m.closure = Closure::methane_by_difference;
    auto const c = calibrate({run({1800, 200, 60}), run({1801, 200, 60})}, m, cylinder(three));
    auto const x = composition_of(run({1500, 200, 60}), m, *c);
    ASSERT_TRUE(x);
    EXPECT_NEAR(x->gas.fraction(*gas::find_component("methane")), 0.9, 1e-3)
        << "whatever its own area says";
    EXPECT_NEAR(x->gas.V(0, 0), x->gas.V(1, 1) + x->gas.V(2, 2) + 2 * x->gas.V(1, 2), 1e-15);
}

TEST(CompositionOfRun, RefusesWhatCannotBeValued) {
    auto const c = calibrate({run({1800, 200, 60})}, method(), cylinder(three));
    RunAreas none;
    none.source = "none";
    EXPECT_FALSE(composition_of(none, method(), *c));
    EXPECT_FALSE(composition_of(run({-1, -2, 0}), method(), *c));
}

TEST(HeavyEnd, MovesATenthBetweenLightestAndHeaviestPart) {
    gas::Composition gas;
    gas.components = {*gas::find_component("methane"), gas::c6_plus};
    gas.x = {0.99, 0.01};
    gas.V = SquareMatrix(2);
    auto const split = gas::default_characterisation();
    auto const whole = with_heavy_end(gas, split, false);
    auto const at = [&](char const* name) {
        auto const c = *gas::find_component(name);
        return static_cast<std::size_t>(
            std::find(whole.components.begin(), whole.components.end(), c) -
            whole.components.begin());
    };
    EXPECT_NEAR(whole.fraction(*gas::find_component("n-hexane")), 0.0047466, 1e-9);
    EXPECT_NEAR(std::sqrt(whole.V(at("n-hexane"), at("n-hexane"))), 0.001, 1e-12);
    EXPECT_NEAR(whole.V(at("n-hexane"), at("n-octane")), -1e-6, 1e-15);
    auto const certified = with_heavy_end(gas, split, true);
    EXPECT_EQ(certified.V(1, 1), 0);
}

}  // namespace
}  // namespace gw::assay
