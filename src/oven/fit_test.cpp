// Planted flow, temperature, event and response errors are recovered; what a run cannot tell is
// said.
#include "oven/fit.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "oven/oven_for_tests.hpp"

namespace gw::oven {
namespace {

struct Case {
    Oven oven;
    std::vector<double> amounts;
};

Case series() {
    Case out{oven_of_text(file_text("tests/contract/files/oven_series.json")).value(), {}};
    out.oven.rate_hz = 10;  // enough for peaks seconds wide, and five times as quick
    auto const text = file_text("tests/contract/files/oven_gas.json");
    auto const gas = gas::read_composition(parse_json(text, "gas").value().root()).value();
    out.amounts = amounts_of(gas, out.oven, {}).value();
    return out;
}

FittedParameter const& parameter(Fitted const& fitted, std::string const& name) {
    return *std::find_if(fitted.parameters.begin(), fitted.parameters.end(), [&](auto const& p) {
        return p.name == name;
    });
}

TEST(Fit, RecoversPlantedErrors) {
    auto const given = series();
    auto real = given.oven;
    for (auto& column : real.columns) column.holdup_s *= 1.02;  // two per cent less flow
    shift_event(real, "reverse A", 0.6);
    shift_event(real, "store C", -0.8);
    for (auto& s : real.species) s.response *= 1.03;
    auto const run = as_trace(real, simulate(real, given.amounts), {0.004, 5});
    auto const fitted = fit(given.oven, given.amounts, {run});
    ASSERT_TRUE(fitted) << one_line(fitted.error());
    auto const near = [&](char const* name, double value, double within) {
        auto const& p = parameter(*fitted, name);
        EXPECT_NEAR(p.value, value, within) << name << " u " << p.u;
        EXPECT_TRUE(p.determined) << name;
    };
    near("flow", 1 / 1.02, 0.003);
    near("temperature", 80, 0.25);
    near("event:reverse A", 22.4, 0.1);
    near("response:methane", 1.03, 0.003);
    near("response:propane", 1.03, 0.003);
    EXPECT_LT(fitted->residual_rms, 0.05);
    near("event:store C", 38.2, 0.2);
    near("event:release C", 156, 0.2);
    // Nothing passes the valve when A is restored: the run cannot tell when that was.
    EXPECT_FALSE(parameter(*fitted, "event:restore A").determined);
}

TEST(Fit, SaysThatStoredPeaksFixOnlyReleaseMinusStore) {
    // Stored so late that ethane lies clear of the column's closed end, nothing but the difference
    // shows.
    auto const given = series();
    auto real = given.oven;
    shift_event(real, "store C", 1.5);
    auto const run = as_trace(real, simulate(real, given.amounts), {0.004, 5});
    auto const fitted = fit(given.oven, given.amounts, {run});
    ASSERT_TRUE(fitted);
    auto const& store = parameter(*fitted, "event:store C");
    auto const& release = parameter(*fitted, "event:release C");
    EXPECT_FALSE(store.determined) << store.u;
    EXPECT_FALSE(release.determined) << release.u;
    EXPECT_NEAR(release.value - store.value, 115.5, 0.05);
    EXPECT_EQ(fitted->notes.size(), 1U);
}

TEST(Fit, RecoversAPlantedTemperature) {
    auto const given = series();
    auto real = given.oven;
    for (auto& species : real.species)
        for (std::size_t c = 0; c < species.k.size(); ++c)
            species.k[c] = retention_factor(species, c, 353.15, 351.65);
    auto const run = as_trace(real, simulate(real, given.amounts), {0.004, 5});
    auto const fitted = fit(given.oven, given.amounts, {run});
    ASSERT_TRUE(fitted);
    EXPECT_NEAR(parameter(*fitted, "temperature").value, 78.5, 0.25);
    EXPECT_NEAR(parameter(*fitted, "flow").value, 1, 0.003);
}

TEST(Fit, RefusesARunOfAnotherMethod) {
    auto const given = series();
    auto run = as_trace(given.oven, simulate(given.oven, given.amounts));
    run.signals[0].resize(500);
    EXPECT_FALSE(fit(given.oven, given.amounts, {run}));
    EXPECT_FALSE(fit(given.oven, given.amounts, {}));
}

}  // namespace
}  // namespace gw::oven
