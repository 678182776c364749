#include "bench/leak.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "base/random.hpp"

namespace gw::bench {
namespace {

LeakTest test_of(double p2 = 4975e2) {
    return {{50e-6, 1e-6},
            {5000e2, 50},
            {p2, 50},
            Measured{298.15, 0.05},
            Measured{296.90, 0.05},
            {900, 1}};
}

TEST(Leak, TakesTheCoolingOut) {
    auto const q = leak_rate(test_of()).value();
    EXPECT_NEAR(q.fall->value, 405.4395, 1e-3);
    EXPECT_NEAR(q.cooling_fall.value(), 5000e2 * 1.25 / 298.15, 1e-6);
    EXPECT_GT(q.apparent.value, 5 * q.rate->value) << "most of the fall is cooling";
}

TEST(Leak, WithoutTemperatureSaysNothingOfALeak) {
    auto test = test_of();
    test.T2.reset();
    auto const q = leak_rate(test).value();
    EXPECT_FALSE(q.rate);
    EXPECT_FALSE(q.least_leak);
}

TEST(Leak, RefusesWhatIsNotAboveZero) {
    for (auto const each : {&LeakTest::volume, &LeakTest::p1, &LeakTest::p2, &LeakTest::time}) {
        auto test = test_of();
        (test.*each).value = 0;
        EXPECT_FALSE(leak_rate(test));
    }
}

// A gas that leaks through an orifice while the room cools, stepped in time: the sum gives back
// what went in.
TEST(Leak, RecoversALeakThatWasSimulated) {
    constexpr double R = 8.31446261815324, V = 80e-6, T1 = 300, T2 = 297.5, wait = 1800;
    constexpr double k = 2e-15;  // mol/(s Pa): molar flow in proportion to p
    double n = 6e5 * V / (R * T1), out = 0;
    constexpr int steps = 200000;
    for (int i = 0; i < steps; ++i) {
        double const T = T1 + (T2 - T1) * (i + 0.5) / steps;
        double const flow = k * n * R * T / V;
        n -= flow * wait / steps;
        out += flow * wait / steps;
    }
    LeakTest const test{
        {V, 0}, {6e5, 0}, {n * R * T2 / V, 0}, Measured{T1, 0}, Measured{T2, 0}, {wait, 0}};
    auto const q = leak_rate(test).value();
    EXPECT_NEAR(q.molar->value, out / wait, 1e-6 * out / wait);
}

// What the header promises: no leak exceeds the threshold in 5 of 100 tests, the least detectable
// leak in 95 of 100.
TEST(Leak, DetectsTheLeastDetectableAsOftenAsItSays) {
    auto const nominal = test_of();
    double const without = nominal.p1.value * nominal.T2->value / nominal.T1->value;
    auto still = nominal;
    still.p2.value = without;
    auto const promised = leak_rate(still).value();
    int false_alarm = 0, found = 0;
    constexpr int tests = 2000;
    for (int i = 0; i < tests; ++i) {
        RandomStream random(5, static_cast<std::uint64_t>(i));
        auto const read = [&](double leak) {
            LeakTest t = nominal;
            double const fall = leak * t.time.value / t.volume.value * t.T2->value / t.T1->value;
            t.p1.value += t.p1.u * random.normal();
            t.p2.value = without - fall + t.p2.u * random.normal();
            t.T1->value += t.T1->u * random.normal();
            t.T2->value += t.T2->u * random.normal();
            return leak_rate(t)->rate->value > *promised.threshold;
        };
        false_alarm += read(0) ? 1 : 0;
        found += read(*promised.least_leak) ? 1 : 0;
    }
    EXPECT_NEAR(false_alarm, 0.05 * tests, 4 * std::sqrt(0.05 * 0.95 * tests));
    EXPECT_NEAR(found, 0.95 * tests, 4 * std::sqrt(0.05 * 0.95 * tests));
}

TEST(Leak, KnowsHowLongToWait) {
    auto const test = test_of();
    double const limit = *leak_rate(test)->least_leak / 3;
    auto longer = test;
    longer.time = {wait_for(test, limit), 0};
    EXPECT_NEAR(*leak_rate(longer)->least_leak, limit, 0.01 * limit);
}

}  // namespace
}  // namespace gw::bench
