// Statistics and propagation of uncertainty against the figures of data/published/metrology.json;
// every row names its source there.
#include "metrology/metrology.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <nlohmann/json.hpp>

#include "base/file.hpp"
#include "base/json.hpp"
#include "base/matrix.hpp"

namespace gw::metrology {
namespace {

class PublishedMetrology : public testing::Test {
  protected:
    static Json const& row(std::string const& id) {
        static Json const file = [] {
            auto const path = std::string(GW_SOURCE_DIR) + "/data/published/metrology.json";
            auto const document = parse_json(read_file(path).value(), path);
            return document.value().root().raw();
        }();
        for (auto const& one : file.at("rows"))
            if (one.at("id") == id) return one;
        ADD_FAILURE() << "no row " << id;
        return file.at("rows").at(0);
    }
    static std::vector<double> list(Json const& numbers) {
        return numbers.get<std::vector<double>>();
    }
};

TEST_F(PublishedMetrology, GrubbsCriticalValues) {
    for (bool const two_sided : {true, false}) {
        auto const& r = row(two_sided ? "grubbs_two_sided" : "grubbs_one_sided");
        auto const n = r["inputs"]["n"].get<std::vector<std::size_t>>();
        for (std::size_t i = 0; i < n.size(); ++i) {
            EXPECT_NEAR(
                grubbs_critical(n[i], 0.01, two_sided), r["expected"]["1%"][i], r["tolerance"])
                << n[i];
            EXPECT_NEAR(
                grubbs_critical(n[i], 0.05, two_sided), r["expected"]["5%"][i], r["tolerance"])
                << n[i];
        }
    }
}

TEST_F(PublishedMetrology, GrubbsExample) {
    auto const& r = row("grubbs_example");
    auto const x = list(r["inputs"]["x"]);
    auto const g = grubbs(x);
    EXPECT_EQ(g.index, 7U);
    EXPECT_NEAR(g.statistic, r["expected"]["G"], r["tolerance"]["G"]);
    EXPECT_NEAR(grubbs_critical(x.size(), r["inputs"]["alpha"], false),
                r["expected"]["critical"],
                r["tolerance"]["critical"]);
    EXPECT_TRUE(g.outlier);
}

TEST_F(PublishedMetrology, CochranCriticalValues) {
    auto const& r = row("cochran");
    auto const groups = r["inputs"]["groups"].get<std::vector<std::size_t>>();
    auto const per_group = r["inputs"]["n"].get<std::vector<std::size_t>>();
    for (auto const n : per_group)
        for (std::size_t i = 0; i < groups.size(); ++i) {
            auto const key = std::to_string(n);
            EXPECT_NEAR(
                cochran_critical(groups[i], n, 0.05), r["expected"]["5%"][key][i], r["tolerance"]);
            EXPECT_NEAR(
                cochran_critical(groups[i], n, 0.01), r["expected"]["1%"][key][i], r["tolerance"]);
        }
}

TEST_F(PublishedMetrology, CriticalRangeFactors) {
    auto const& r = row("critical_range");
    for (std::size_t i = 0; i < r["inputs"]["n"].size(); ++i) {
        double const f = critical_range_factor(r["inputs"]["n"][i].get<std::size_t>());
        EXPECT_NEAR(f, r["expected"]["printed"][i], r["tolerance"]["printed"]);
        EXPECT_NEAR(f, r["expected"]["computed"][i], r["tolerance"]["computed"]);
    }
}

TEST_F(PublishedMetrology, Quantiles) {
    auto const& t = row("student_t");
    auto const& f = row("f");
    auto const& chi2 = row("chi_squared");
    for (auto const* p : {"0.95", "0.975"}) {
        for (std::size_t i = 0; i < t["inputs"]["nu"].size(); ++i)
            EXPECT_NEAR(
                student_t(std::stod(p), t["inputs"]["nu"][i]), t["expected"][p][i], t["tolerance"]);
        for (std::size_t i = 0; i < f["inputs"]["nu"].size(); ++i) {
            auto const& nu = f["inputs"]["nu"][i];
            EXPECT_NEAR(
                f_quantile(std::stod(p), nu[0], nu[1]), f["expected"][p][i], f["tolerance"]);
        }
    }
    for (std::size_t i = 0; i < chi2["inputs"]["nu"].size(); ++i)
        EXPECT_NEAR(chi_squared_quantile(0.95, chi2["inputs"]["nu"][i]),
                    chi2["expected"]["0.95"][i],
                    chi2["tolerance"]);
}

// The standard deviation of s itself, from the chi-squared law that s follows: c4 through the gamma
// function, and the same from the quantile function by averaging, so that a wrong quantile shows.
TEST_F(PublishedMetrology, SpreadOfAStandardDeviation) {
    auto const& r = row("relative_sd_of_s");
    for (std::size_t i = 0; i < r["inputs"]["n"].size(); ++i) {
        double const nu = r["inputs"]["n"][i].get<double>() - 1;
        constexpr int strips = 20000;
        double s_mean = 0, s_squared = 0;
        for (int q = 0; q < strips; ++q) {
            double const s = std::sqrt(chi_squared_quantile((q + 0.5) / strips, nu) / nu);
            s_mean += s / strips;
            s_squared += s * s / strips;
        }
        EXPECT_NEAR(100 * std::sqrt(s_squared / (s_mean * s_mean) - 1),
                    r["expected"]["percent"][i],
                    r["tolerance"]);
    }
}

TEST_F(PublishedMetrology, EndGauge) {
    auto const& r = row("welch_satterthwaite");
    auto const u = list(r["inputs"]["u"]), nu = list(r["inputs"]["nu"]);
    double const u_c = std::sqrt(quadratic_form(SquareMatrix::of_standard_uncertainties(u),
                                                std::vector<double>(u.size(), 1.0)));
    EXPECT_NEAR(u_c, r["expected"]["u_c"], r["tolerance"]["u_c"]);
    double const nu_eff = std::floor(effective_degrees_of_freedom(u, nu));
    EXPECT_EQ(nu_eff, r["expected"]["nu_eff"]);
    double const k_99 = normal_quantile(0.995);
    EXPECT_NEAR(coverage_factor(k_99, nu_eff) * u_c, r["expected"]["U99"], r["tolerance"]["U99"]);
}

TEST_F(PublishedMetrology, NumericalAccuracyOfMeanAndStandardDeviation) {
    for (auto const* id : {"numacc1", "numacc3", "numacc4"}) {
        auto const& r = row(id);
        std::vector<double> x;
        if (r["inputs"].contains("x")) {
            x = list(r["inputs"]["x"]);
        } else {
            x.push_back(r["inputs"]["first"]);
            while (x.size() < r["inputs"]["n"].get<std::size_t>())
                x.push_back(r["inputs"]["then_alternating"][(x.size() + 1) % 2]);
        }
        double const m = r["expected"]["mean"], s = r["expected"]["sd"], relative = r["tolerance"];
        EXPECT_NEAR(mean(x), m, m * relative) << id;
        EXPECT_NEAR(standard_deviation(x), s, s * relative) << id;
    }
}

/// Correlation of row i and column j.
double correlation(SquareMatrix const& V, std::size_t i, std::size_t j) {
    return V(i, j) / std::sqrt(V(i, i) * V(j, j));
}

TEST_F(PublishedMetrology, CorrelatedInputsThroughTheCovarianceMatrix) {
    auto const& r = row("correlated_impedance");
    std::array<std::array<std::size_t, 2>, 3> const pairs = {{{0, 1}, {0, 2}, {1, 2}}};
    std::array const observed = {
        list(r["inputs"]["V"]), list(r["inputs"]["I_mA"]), list(r["inputs"]["phi"])};
    std::array<double, 3> const to_si = {1.0, 1e-3, 1.0};
    std::array<double, 3> m{};
    auto const n = static_cast<double>(observed[0].size());
    SquareMatrix covariance(3);  // of the means
    for (std::size_t i = 0; i < 3; ++i) m[i] = mean(observed[i]) * to_si[i];
    for (std::size_t i = 0; i < 3; ++i)
        for (std::size_t j = 0; j < 3; ++j)
            for (std::size_t q = 0; q < observed[0].size(); ++q)
                covariance(i, j) += (observed[i][q] * to_si[i] - m[i]) *
                                    (observed[j][q] * to_si[j] - m[j]) / (n * (n - 1));
    auto const& in = r["expected"]["input"];
    auto const& in_tolerance = r["tolerance"]["input"];
    for (std::size_t i = 0; i < 3; ++i) {
        EXPECT_NEAR(m[i], in["mean"][i], in_tolerance["mean"][i]);
        double const u = standard_deviation(observed[i]) * to_si[i] / std::sqrt(n);
        EXPECT_NEAR(u, in["u"][i], in_tolerance["u"][i]);
        EXPECT_NEAR(
            correlation(covariance, pairs[i][0], pairs[i][1]), in["r"][i], in_tolerance["r"]);
    }
    double const V = m[0], I = m[1], Z = V / I, c = std::cos(m[2]), s = std::sin(m[2]);
    std::vector<double> const J = {c / I,
                                   -Z * c / I,
                                   -Z * s,  //
                                   s / I,
                                   -Z * s / I,
                                   Z * c,  //
                                   1 / I,
                                   -Z / I,
                                   0};
    auto const W = congruence(J, 3, covariance);
    auto const u_out = standard_uncertainties(W);
    std::array<double, 3> const value = {Z * c, Z * s, Z};
    for (std::size_t i = 0; i < 3; ++i) {
        EXPECT_NEAR(value[i], r["expected"]["value"][i], r["tolerance"]["value"][i]);
        EXPECT_NEAR(u_out[i], r["expected"]["u"][i], r["tolerance"]["u"][i]);
        EXPECT_NEAR(
            correlation(W, pairs[i][0], pairs[i][1]), r["expected"]["r"][i], r["tolerance"]["r"]);
    }
}

TEST_F(PublishedMetrology, InterlaboratoryPrecision) {
    auto const& r = row("interlaboratory");
    std::vector<double> cell_means;
    double pooled = 0;
    auto const& data = r["inputs"]["data"];
    for (auto const& cell : data) {
        auto const x = list(cell);
        cell_means.push_back(mean(x));
        pooled += std::pow(standard_deviation(x), 2) / static_cast<double>(data.size());
    }
    auto const n = static_cast<double>(data[0].size());
    double const s_r = std::sqrt(pooled), s_xbar = standard_deviation(cell_means);
    double const s_R = std::max(s_r, std::sqrt(s_xbar * s_xbar + pooled * (n - 1) / n));
    double const tolerance = r["tolerance"]["s"];
    EXPECT_NEAR(mean(cell_means), r["expected"]["mean"], tolerance);
    EXPECT_NEAR(s_xbar, r["expected"]["s_xbar"], tolerance);
    EXPECT_NEAR(s_r, r["expected"]["s_r"], tolerance);
    EXPECT_NEAR(s_R, r["expected"]["s_R"], tolerance);
    EXPECT_NEAR(2.8 * s_r, r["expected"]["r95"], r["tolerance"]["limit"]);
    EXPECT_NEAR(2.8 * s_R, r["expected"]["R95"], r["tolerance"]["limit"]);
}

TEST_F(PublishedMetrology, TailsOfTheNormalLaw) {
    auto const& r = row("cut_tail");
    for (std::size_t i = 0; i < r["inputs"]["d"].size(); ++i)
        EXPECT_NEAR(-normal_quantile(r["expected"]["fraction"][i]), r["inputs"]["d"][i], 1e-6);
}

}  // namespace
}  // namespace gw::metrology
