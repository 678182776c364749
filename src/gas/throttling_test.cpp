#include "gas/throttling.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace gw::gas {
namespace {

PreparedGas gas_of(char const* name, WideRangeEquation equation) {
    Composition gas;
    gas.components.push_back(*find_component(name));
    gas.x.push_back(1.0);
    return *prepared(gas, equation);
}

TEST(Throttling, KeepsTheEnthalpyAllTheWay) {
    for (auto const equation : {WideRangeEquation::gerg2008, WideRangeEquation::detail}) {
        auto const gas = gas_of("methane", equation);
        auto const way = throttled(gas, kelvin(300), kilopascal(12000), kilopascal(200));
        ASSERT_TRUE(way) << one_line(way.error());
        ASSERT_EQ(way->size(), 25U);
        EXPECT_EQ(way->back().p, kilopascal(200));
        double const h = fluid_state(gas, kelvin(300), kilopascal(12000))->enthalpy;
        for (auto const& at : *way)
            EXPECT_NEAR(fluid_state(gas, at.T, at.p)->enthalpy, h, 1e-6 * std::abs(h) + 1e-4);
    }
}

TEST(Throttling, ASmallStepIsTheJouleThomsonCoefficient) {
    auto const gas = gas_of("methane", WideRangeEquation::gerg2008);
    auto const state = fluid_state(gas, kelvin(300), kilopascal(6000));
    auto const way = throttled(gas, kelvin(300), kilopascal(6000), kilopascal(5990), {1});
    ASSERT_TRUE(way);
    EXPECT_NEAR((way->back().T.si - 300) / -10, state->joule_thomson, 1e-5);
}

TEST(Throttling, HydrogenWarmsAtRoomTemperature) {
    auto const way = throttled(gas_of("hydrogen", WideRangeEquation::gerg2008),
                               kelvin(300),
                               kilopascal(12000),
                               kilopascal(200));
    ASSERT_TRUE(way);
    EXPECT_GT(way->back().T.si, 300.0);
}

TEST(Throttling, RefusesAnOutletThatIsNotBelow) {
    auto const gas = gas_of("methane", WideRangeEquation::gerg2008);
    for (double const outlet : {12000.0, 13000.0, 0.0, -5.0, std::nan("")})
        EXPECT_FALSE(throttled(gas, kelvin(300), kilopascal(12000), kilopascal(outlet)));
}

}  // namespace
}  // namespace gw::gas
