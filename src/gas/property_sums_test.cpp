#include "gas/property_sums.hpp"

#include <gtest/gtest.h>

#include "gas/random_gas_for_tests.hpp"

namespace gw::gas {
namespace {

Composition gas_of(std::vector<Component> const& components, std::vector<double> const& x) {
    Composition out;
    out.components = components;
    out.x = x;
    return out;
}

TEST(PropertySums, AgreesWithTheFullSumsAndWithTheirGradients) {
    std::vector<Component> components;
    for (auto const* c : {"methane", "nitrogen", "ethane", "hydrogen", "C6+", "water"})
        components.push_back(*find_component(c));
    std::vector<double> const x = {0.85, 0.03, 0.07, 0.04, 0.006, 0.004};
    auto const split = default_characterisation();
    for (auto const combustion : {CombustionTemperature::c0, CombustionTemperature::f60})
        for (auto const metering : {MeteringTemperature::c15, MeteringTemperature::f60}) {
            Iso6976Options const options{combustion, metering, kilopascal(100)};
            auto const sums = PropertySums::prepare(components, split, options).value();
            std::vector<double> gradient(real_property_count * x.size());
            auto const v = sums.values(x, gradient);
            auto const full = iso6976(expanded(gas_of(components, x), split), options)->real;
            PropertySums::Values const expected = {full.gross_cv_volume.value,
                                                   full.net_cv_volume.value,
                                                   full.gross_wobbe.value,
                                                   full.density.value,
                                                   full.relative_density.value};
            for (std::size_t p = 0; p < real_property_count; ++p) {
                EXPECT_NEAR(v[p] / expected[p], 1, 1e-13) << name(RealProperty(p));
                for (std::size_t i = 0; i < x.size(); ++i) {
                    auto up = x, down = x;
                    up[i] += 1e-6;
                    down[i] -= 1e-6;
                    double const slope = (sums.values(up)[p] - sums.values(down)[p]) / 2e-6;
                    EXPECT_NEAR(gradient[p * x.size() + i], slope, 1e-6 * (1 + std::abs(slope)));
                }
            }
        }
}

TEST(PropertySums, AgreesWithTheFullSumsOfTheUsStandard) {
    std::vector<Component> components;
    for (auto const* c : {"methane", "nitrogen", "ethane", "C6+"})
        components.push_back(*find_component(c));
    std::vector<double> const x = {0.89, 0.03, 0.07, 0.01};
    auto const split = default_characterisation();
    for (double const base : {14.696, 14.73, 15.025}) {
        Gpa2172Options const options{psia(base)};
        auto const v = PropertySums::prepare(components, split, options)->values(x);
        auto const full = gpa2172(expanded(gas_of(components, x), split), options)->real;
        EXPECT_NEAR(v[0] / full.gross_cv_volume.value, 1, 1e-13);
        EXPECT_NEAR(v[1] / full.net_cv_volume.value, 1, 1e-13);
        EXPECT_NEAR(v[2] / full.gross_wobbe.value, 1, 1e-13);
        EXPECT_NEAR(v[3] / full.density.value, 1, 1e-13);
        EXPECT_NEAR(v[4] / full.relative_density.value, 1, 1e-13);
    }
    components.back() = *find_component("water");
    EXPECT_FALSE(PropertySums::prepare(components, split, Gpa2172Options{}));
}

TEST(PropertySums, RefusesAPlusFractionWithoutSplit) {
    std::vector<Component> const components = {c6_plus};
    EXPECT_FALSE(PropertySums::prepare(components, {}, {}));
}

}  // namespace
}  // namespace gw::gas
