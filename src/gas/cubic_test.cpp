#include "gas/cubic.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "gas/phase_stability.hpp"

namespace gw::gas {
namespace {

Composition gas_of(std::vector<std::pair<char const*, double>> const& amounts) {
    Composition gas;
    for (auto const& [name, x] : amounts) {
        gas.components.push_back(*find_component(name));
        gas.x.push_back(x);
    }
    return gas;
}

Composition amarillo() {  // AGA 8 reference gas, data/published/aga8.json
    return gas_of({{"methane", 0.906724},
                   {"nitrogen", 0.031284},
                   {"carbon dioxide", 0.004676},
                   {"ethane", 0.045279},
                   {"propane", 0.00828},
                   {"isobutane", 0.001037},
                   {"n-butane", 0.001563},
                   {"isopentane", 0.000321},
                   {"n-pentane", 0.000443},
                   {"n-hexane", 0.000393}});
}

TEST(Cubic, DerivativesAreTheSlopes) {
    for (auto const equation : {CubicEquation::peng_robinson, CubicEquation::soave_redlich_kwong}) {
        auto const gas = cubic_gas(amarillo(), equation);
        ASSERT_TRUE(gas);
        std::size_t const n = gas->z.size();
        for (double const T : {150.0, 250.0, 400.0}) {
            double const p = 4e6;
            Fugacity at, high, low;
            gas->mixture.fugacity(gas->z, T, p, WithDerivatives::yes, at);
            auto const shifted =
                [&](double dT, double dp, std::size_t j, double dx, Fugacity& out) {
                    auto x = gas->z;
                    x[j] += dx;
                    gas->mixture.fugacity(x, T + dT, p + dp, WithDerivatives::no, out);
                };
            for (std::size_t j = 0; j < n; ++j) {
                double const h = 1e-3 * gas->z[j];
                shifted(0, 0, j, h, high);
                shifted(0, 0, j, -h, low);
                for (std::size_t i = 0; i < n; ++i)
                    EXPECT_NEAR((high.ln_phi[i] - low.ln_phi[i]) / (2 * h),
                                at.d_n[i * n + j],
                                1e-5 * (1 + std::abs(at.d_n[i * n + j])));
            }
            shifted(1e-3, 0, 0, 0, high);
            shifted(-1e-3, 0, 0, 0, low);
            for (std::size_t i = 0; i < n; ++i)
                EXPECT_NEAR((high.ln_phi[i] - low.ln_phi[i]) / 2e-3, at.d_T[i], 1e-7);
            shifted(0, 1e2, 0, 0, high);
            shifted(0, -1e2, 0, 0, low);
            for (std::size_t i = 0; i < n; ++i)
                EXPECT_NEAR((high.ln_phi[i] - low.ln_phi[i]) / 2e2 * p, at.d_p[i] * p, 1e-7);
        }
    }
}

TEST(Cubic, APureFluidIsCriticalAtItsCriticalPoint) {
    for (auto const equation : {CubicEquation::peng_robinson, CubicEquation::soave_redlich_kwong}) {
        auto const gas = cubic_gas(gas_of({{"propane", 1.0}}), equation);
        ASSERT_TRUE(gas);
        Fugacity at;
        double const Tc = 369.89, pc = 4251.2e3;  // data/gas/critical_constants.json
        gas->mixture.fugacity(gas->z, Tc, pc, WithDerivatives::no, at);
        double const Zc = equation == CubicEquation::peng_robinson ? 0.3074013086987
                                                                   : 1.0 / 3;  // of the form itself
        EXPECT_NEAR(at.Z, Zc, 2e-5);                                           // a triple root
    }
}

TEST(Cubic, WaterIsLeftOutAndTheRestScaled) {
    auto const gas = cubic_gas(gas_of({{"methane", 0.9}, {"ethane", 0.09}, {"water", 0.01}}),
                               CubicEquation::peng_robinson);
    ASSERT_TRUE(gas);
    ASSERT_EQ(gas->z.size(), 2U);
    EXPECT_NEAR(gas->z[0], 0.9 / 0.99, 1e-15);
    EXPECT_EQ(gas->warnings.size(), 1U);
    EXPECT_FALSE(cubic_gas(gas_of({{"water", 1.0}}), CubicEquation::peng_robinson));
}

TEST(PhaseStability, PipelineGasIsOnePhaseWarmAndTwoCold) {
    auto const gas = cubic_gas(amarillo(), CubicEquation::peng_robinson);
    ASSERT_TRUE(gas);
    auto const stable = [&](double T, double MPa) {
        return phase_stability(gas->mixture, gas->z, kelvin(T), kilopascal(1e3 * MPa)).stable;
    };
    for (double const MPa : {0.1, 1.0, 3.0, 6.0, 10.0, 20.0})
        EXPECT_TRUE(stable(288.15, MPa)) << MPa;
    for (double const MPa : {0.1, 1.0, 3.0}) EXPECT_FALSE(stable(200, MPa)) << MPa;
    EXPECT_TRUE(stable(120, 3)) << "all liquid";
    EXPECT_TRUE(stable(200, 20)) << "dense fluid";
}

TEST(PhaseStability, FindsTheDewPointOfABinaryWhereItsFugacitiesMeet) {
    // at the boundary the incipient liquid has the fugacities of the gas: checked by a flash of its
    // own
    auto const gas =
        cubic_gas(gas_of({{"methane", 0.95}, {"n-butane", 0.05}}), CubicEquation::peng_robinson);
    ASSERT_TRUE(gas);
    double low = 200, high = 350;
    for (int i = 0; i < 60; ++i) {
        double const T = 0.5 * (low + high);
        (phase_stability(gas->mixture, gas->z, kelvin(T), kilopascal(2000)).stable ? high : low) =
            T;
    }
    std::vector<double> x(2), ln_K(2);
    gas->mixture.wilson_ln_K(high, 2e6, ln_K);
    Fugacity vapour, liquid;
    gas->mixture.fugacity(gas->z, high, 2e6, WithDerivatives::no, vapour);
    for (int i = 0; i < 2; ++i)
        x[static_cast<std::size_t>(i)] =
            gas->z[static_cast<std::size_t>(i)] * std::exp(-ln_K[static_cast<std::size_t>(i)]);
    double sum = 0;
    for (int round = 0; round < 200; ++round) {
        gas->mixture.fugacity(x, high, 2e6, WithDerivatives::no, liquid);
        sum = 0;
        for (std::size_t i = 0; i < 2; ++i)
            sum += x[i] = gas->z[i] * std::exp(vapour.ln_phi[i] - liquid.ln_phi[i]);
    }
    EXPECT_NEAR(sum, 1.0, 1e-7);
}

}  // namespace
}  // namespace gw::gas
