#include "bench/leak.hpp"

#include <cmath>
#include <limits>

#include "bench/propagation.hpp"

namespace gw::bench {

namespace {

constexpr double molar_gas_constant = 8.31446261815324;  // SI Brochure 9th ed.: exact
constexpr double one_sided_95 = 1.6448536269514722;      // normal law

Result<> check(LeakTest const& test) {
    auto const positive = [](double value, char const* what, char const* where) -> Result<> {
        if (value > 0) return {};
        return fail(Errc::out_of_range, std::string(what) + " must be above zero.", where);
    };
    GW_CHECK(positive(test.volume.value, "The volume", "volume"));
    GW_CHECK(positive(test.time.value, "The time waited", "time"));
    GW_CHECK(positive(test.p1.value, "The pressure at the start", "p1"));
    GW_CHECK(positive(test.p2.value, "The pressure at the end", "p2"));
    if (test.T1) GW_CHECK(positive(test.T1->value, "The temperature at the start", "t1"));
    if (test.T2) GW_CHECK(positive(test.T2->value, "The temperature at the end", "t2"));
    return {};
}

double rate_of(std::span<double const> v) {  // V, p1, p2, T1, T2, t
    return v[0] * (v[1] - v[2] * v[3] / v[4]) / v[5];
}

// u of the rate when nothing leaks: the end pressure is then p1 T2/T1.
double u_without_leak(LeakTest const& test) {
    Measured const still{test.p1.value * test.T2->value / test.T1->value, test.p2.u};
    return propagated(rate_of, {test.volume, test.p1, still, *test.T1, *test.T2, test.time}).u;
}

}  // namespace

Result<LeakRate> leak_rate(LeakTest const& test) {
    GW_CHECK(check(test));
    LeakRate out;
    out.apparent = propagated([](std::span<double const> v) { return v[0] * (v[1] - v[2]) / v[3]; },
                              {test.volume, test.p1, test.p2, test.time});
    if (!test.T1 || !test.T2) return out;
    std::vector<Measured> const inputs = {
        test.volume, test.p1, test.p2, *test.T1, *test.T2, test.time};
    out.rate = propagated(rate_of, inputs);
    out.molar = propagated(
        [](std::span<double const> v) { return rate_of(v) / (molar_gas_constant * v[3]); }, inputs);
    out.fall =
        propagated([](std::span<double const> v) { return v[1] - v[2] * v[3] / v[4]; }, inputs);
    double const u = u_without_leak(test);
    out.threshold = one_sided_95 * u;
    out.least_leak = 2 * one_sided_95 * u;
    out.cooling_fall = test.p1.value * (1 - test.T2->value / test.T1->value);
    return out;
}

double wait_for(LeakTest const& test, double limit) {
    if (!(limit > 0) || !test.T1 || !test.T2) return std::numeric_limits<double>::infinity();
    return 2 * one_sided_95 * u_without_leak(test) * test.time.value / limit;
}

}  // namespace gw::bench
