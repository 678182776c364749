// Uncertainty against the figures of data/published/uncertainty.json; every row names its source
// there.
#include <gtest/gtest.h>

#include <cmath>

#include "metrology/monte_carlo.hpp"
#include "metrology/regression.hpp"
#include "metrology/statistics.hpp"
#include "published_rows.hpp"

namespace gw::metrology {
namespace {

Json const& row(std::string const& id) { return published_row("uncertainty", id); }

double rectangular(RandomStream& random, double low, double high) {
    return low + (high - low) * random.uniform();
}

// t with nu degrees of freedom, as JCGM 101 6.4.9 draws it.
double t_draw(RandomStream& random, int nu) {
    double chi2 = 0;
    for (int i = 0; i < nu; ++i) {
        double const z = random.normal();
        chi2 += z * z;
    }
    return random.normal() / std::sqrt(chi2 / nu);
}

MonteCarloOptions million() {
    MonteCarloOptions options;
    options.adaptive = false;
    return options;
}

TEST(PublishedUncertainty, ThermometerCorrectionLine) {
    auto const& r = row("thermometer_line");
    // Temperatures of its Table H.6, degC.
    std::vector<double> const t = {
        21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511};
    auto const b = numbers(r["inputs"]["b"]);
    std::vector<double> x;
    for (double const each : t) x.push_back(each - r["inputs"]["t0"].get<double>());
    auto const fit = fit_polynomial(x, b, {}, {1, false}).value();
    auto const u = standard_uncertainties(fit.covariance());
    auto const& e = r["expected"];
    EXPECT_NEAR(fit.coefficients()[0], e["y1"], 0.5e-4);
    EXPECT_NEAR(fit.coefficients()[1], e["y2"], 0.5e-5);
    EXPECT_NEAR(u[0], e["u1"], 0.5e-4);
    EXPECT_NEAR(u[1], e["u2"], 0.5e-5);
    EXPECT_NEAR(fit.covariance()(0, 1) / (u[0] * u[1]), e["r"], 0.5e-3);
    EXPECT_NEAR(fit.residual_sd, e["s"], 0.5e-4);
    auto const at_30 = forward(fit, {10, 0});
    EXPECT_NEAR(at_30.value, e["b30"], 0.5e-4);
    EXPECT_NEAR(at_30.u, e["u_b30"], 0.5e-4);
}

TEST(PublishedUncertainty, SumsOfFour) {
    auto const sum_of = [](double a, double b, double c, double d) {
        double const h = std::sqrt(3.0);
        return [=](RandomStream& r) {
            return a * rectangular(r, -h, h) + b * rectangular(r, -h, h) +
                   c * rectangular(r, -h, h) + d * rectangular(r, -h, h);
        };
    };
    auto const check = [](char const* id, MonteCarlo const& got) {
        auto const& r = row(id);
        double const tolerance = r["tolerance"]["abs"];
        EXPECT_NEAR(got.u, r["expected"]["u"], tolerance) << id;
        EXPECT_NEAR(got.low, r["expected"]["ci95"][0], tolerance) << id;
        EXPECT_NEAR(got.high, r["expected"]["ci95"][1], tolerance) << id;
        if (!r["expected"].contains("guf_ci95")) return;
        // First order and a normal law: what the guide alone would say.
        SquareMatrix V(4);
        for (std::size_t i = 0; i < 4; ++i) V(i, i) = 1;
        if (id == std::string("sum_with_one_wide")) V(3, 3) = 100;
        auto const linear = propagate(
            [](std::vector<double> const& x) {
                return std::vector<double>{x[0] + x[1] + x[2] + x[3]};
            },
            {0, 0, 0, 0},
            V);
        EXPECT_NEAR(
            normal_quantile(0.975) * std::sqrt(linear.V(0, 0)), r["expected"]["guf_ci95"][1], 0.06)
            << id;
    };
    check("sum_of_normal",
          monte_carlo(
              [](RandomStream& r) { return r.normal() + r.normal() + r.normal() + r.normal(); },
              million()));
    check("sum_of_rectangular", monte_carlo(sum_of(1, 1, 1, 1), million()));
    check("sum_with_one_wide", monte_carlo(sum_of(1, 1, 1, 10), million()));
}

TEST(PublishedUncertainty, MassCalibration) {
    auto const& r = row("mass_calibration");
    auto const& in = r["inputs"];
    auto const model = [](double m, double dm, double air, double weight, double reference) {
        return (m + dm) * (1 + (air - 1.2) * (1 / weight - 1 / reference)) - 100000;
    };
    auto const got = monte_carlo(
        [&](RandomStream& g) {
            double const m = in["m_Rc"][1].get<double>() + in["m_Rc"][2].get<double>() * g.normal();
            double const dm =
                in["dm_Rc"][1].get<double>() + in["dm_Rc"][2].get<double>() * g.normal();
            auto const even = [&](char const* name) {
                return rectangular(g, in[name][1].get<double>(), in[name][2].get<double>());
            };
            double const air = even("rho_a"), weight = even("rho_W"), reference = even("rho_R");
            return model(m, dm, air, weight, reference);
        },
        [] {
            auto options = million();
            options.most = 300000;
            return options;
        }());
    EXPECT_NEAR(got.mean, r["expected"]["mean"], r["tolerance"]["mean"]);
    EXPECT_NEAR(got.u, r["expected"]["u"], r["tolerance"]["u"]);
    EXPECT_NEAR(got.shortest_low, r["expected"]["shortest95"][0], r["tolerance"]["ends"]);
    EXPECT_NEAR(got.shortest_high, r["expected"]["shortest95"][1], r["tolerance"]["ends"]);
    // First order misses what the guide's supplement shows: its derivative to the densities is 0.
    double const h = 1 / std::sqrt(3.0);
    std::vector<double> const u = {0.05, 0.02, 0.1 * h, 1000 * h, 50 * h};
    auto const linear = propagate(
        [&](std::vector<double> const& x) {
            return std::vector<double>{model(x[0], x[1], x[2], x[3], x[4])};
        },
        {100000, 1.234, 1.2, 8000, 8000},
        SquareMatrix::of_standard_uncertainties(u));
    EXPECT_NEAR(std::sqrt(linear.V(0, 0)), r["expected"]["guf1_u"], 0.5e-4);
}

// Distributions of JCGM 101 Table 10, from memory.
TEST(PublishedUncertainty, GaugeBlock) {
    auto const& r = row("gauge_block");
    double const nominal = 50e6;  // nm
    auto options = million();
    options.coverage = 0.99;
    options.most = 300000;
    auto const curved = [](RandomStream& g, double a, double b, double d) {
        double const half = 0.5 * (b - a), middle = 0.5 * (a + b);
        double const edge = half - d + 2 * d * g.uniform();  // half width itself even within d
        return middle + edge * (2 * g.uniform() - 1);
    };
    auto const got = monte_carlo(
        [&](RandomStream& g) {
            double const ls = 50000623 + 25 * t_draw(g, 18);
            double const D = 215 + 6 * t_draw(g, 24);
            double const d1 = 4 * t_draw(g, 5), d2 = 7 * t_draw(g, 8);
            double const alpha = rectangular(g, 9.5e-6, 13.5e-6);
            double const theta0 = -0.1 + 0.2 * g.normal();
            double const swing = 0.5 * std::sin(2 * 3.14159265358979323846 * g.uniform());
            double const d_alpha = curved(g, -1e-6, 1e-6, 0.1e-6);
            double const d_theta = curved(g, -0.05, 0.05, 0.025);
            double const theta = theta0 + swing;
            double const L = (ls * (1 + alpha * (theta - d_theta)) + D + d1 + d2) /
                             (1 + (alpha + d_alpha) * theta);
            return L - nominal;
        },
        options);
    EXPECT_NEAR(got.mean, r["expected"]["mean"], r["tolerance"]["abs"]);
    EXPECT_NEAR(got.u, r["expected"]["u"], r["tolerance"]["abs"]);
    EXPECT_NEAR(got.low, r["expected"]["ci99"][0], 2);
    EXPECT_NEAR(got.high, r["expected"]["ci99"][1], 2);
}

TEST(PublishedUncertainty, StopsWhenStableWhateverTheThreads) {
    auto const model = [](RandomStream& g) { return std::exp(0.3 * g.normal()); };
    MonteCarloOptions options;
    options.threads = 1;
    auto const one = monte_carlo(model, options);
    options.threads = 4;
    auto const four = monte_carlo(model, options);
    EXPECT_TRUE(one.stable);
    EXPECT_LT(one.trials, options.most);
    EXPECT_EQ(one.trials, four.trials);
    EXPECT_EQ(one.mean, four.mean);
    EXPECT_EQ(one.high, four.high);
    options.seed = 2;
    EXPECT_NE(one.mean, monte_carlo(model, options).mean);
    double const exact = std::exp(0.045) * std::sqrt(std::exp(0.09) - 1);
    EXPECT_NEAR(one.u, exact, one.tolerance);
}

TEST(PublishedUncertainty, NormalisedErrorIsAQuotient) {
    auto const& r = row("normalised_error");
    auto const& in = r["inputs"];
    expect_relative(normalised_error(in["x"], in["U_x"], in["ref"], in["U_ref"]),
                    r["expected"]["E_n"],
                    r["tolerance"]["rel"],
                    "E_n");
}

}  // namespace
}  // namespace gw::metrology
