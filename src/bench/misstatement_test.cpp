#include "bench/misstatement.hpp"

#include <gtest/gtest.h>

namespace gw::bench {
namespace {

constexpr double day = 86400;

MisstatementInputs inputs() {
    MisstatementInputs in;
    for (int d = 0; d < 60; ++d) in.gas.push_back({d * day, (d + 1) * day, 1.2e6, 39.5});
    in.error_percent = {-0.35, 0.05};
    in.found_s = 50 * day;
    return in;
}

// Half-period rule with a cap of 16 days: 46 days since the last good check. The rule is that of
// tariffs filed with a regulator; the numbers are made here.
TEST(Misstatement, HalfPeriodWithCap) {
    auto in = inputs();
    in.onset.rule = OnsetRule::half_period;
    in.onset.last_good_s = 4 * day;
    in.onset.cap_s = 16 * day;
    auto const out = misstatement(in).value();
    EXPECT_NEAR((out.to_s - out.from_s) / day, 16, 1e-12);
    EXPECT_NEAR(out.indicated_mwh / 16, 13166.666666666666, 1e-6);
    EXPECT_NEAR(out.linear_mwh, -737.3333333333334, 1e-6);
    EXPECT_NEAR(out.mwh.value, -739.9230640575277, 1e-6);
    EXPECT_GT(out.u_of_onset_mwh, 0);
}

TEST(Misstatement, KnownOnsetChangePointAndRamp) {
    auto in = inputs();
    in.onset.at_s = 40 * day;
    auto const known = misstatement(in).value();
    EXPECT_NEAR(known.indicated_mwh, 10 * 13166.666666666666, 1e-6);
    EXPECT_EQ(known.u_of_onset_mwh, 0);
    in.onset.rule = OnsetRule::change_point;
    in.onset.from_s = 38 * day;
    in.onset.to_s = 42 * day;
    auto const found = misstatement(in).value();
    EXPECT_NEAR(found.u_of_onset_mwh, 4.0 / (2 * 1.96) * 13166.67 * 0.0035 / 0.9965, 1);
    in.course = ErrorCourse::ramp;
    EXPECT_NEAR(misstatement(in)->mwh.value, 0.5 * found.mwh.value, 1);
}

TEST(Misstatement, CausesShareWhatTheErrorCost) {
    auto in = inputs();
    in.onset.at_s = 40 * day;
    in.price_per_mwh = 30;
    in.causes = {{"wrong certificate", {-0.2, 0.02}}, {"cut of the plus fraction", {-0.15, 0.03}}};
    auto const out = misstatement(in).value();
    ASSERT_EQ(out.causes.size(), 2U);
    EXPECT_NEAR(out.causes[0].mwh.value + out.causes[1].mwh.value, out.mwh.value, 1e-6);
    EXPECT_NEAR(out.money->value, 30 * out.mwh.value, 1e-6);
    in.causes.pop_back();
    EXPECT_EQ(misstatement(in)->causes.back().name, "not explained");
    EXPECT_FALSE(misstatement(in)->warnings.empty());
}

TEST(Misstatement, RefusesAnOnsetAfterTheFindingAndATimeWithoutGas) {
    auto in = inputs();
    in.onset.at_s = 51 * day;
    EXPECT_FALSE(misstatement(in));
    in.onset.at_s = 40 * day;
    in.gas.clear();
    EXPECT_FALSE(misstatement(in));
}

}  // namespace
}  // namespace gw::bench
