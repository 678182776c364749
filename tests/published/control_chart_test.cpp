// Control charts against the figures of data/published/control_charts.json; every row names its
// source there.
#include "metrology/control_chart.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "published_rows.hpp"

namespace gw::metrology {
namespace {

Json const& row(std::string const& id) { return published_row("control_charts", id); }

TEST(PublishedControlCharts, Constants) {
    auto const& r = row("shewhart_constants");
    for (std::size_t i = 0; i < r["inputs"]["n"].size(); ++i) {
        auto const n = r["inputs"]["n"][i].get<std::size_t>();
        EXPECT_NEAR(c4(n), r["expected"]["c4"][i], r["tolerance"]["abs"]) << n;
        EXPECT_NEAR(d2(n), r["expected"]["d2"][i], r["tolerance"]["abs"]) << n;
    }
    EXPECT_NEAR(3 / d2(2), r["expected"]["individuals_factor"], 2e-3);
}

TEST(PublishedControlCharts, SeriesOfExponentialMeans) {
    auto const& r = row("ewma_series");
    auto const& in = r["inputs"];
    auto const y = numbers(in["y"]);
    auto const points = ewma(y, {in["target"], in["s"], y.size()}, in["lambda"], in["k"]);
    for (std::size_t i = 0; i < y.size(); ++i) {
        EXPECT_NEAR(points[i].z, r["expected"]["ewma"][i], r["tolerance"]["ewma"]) << i;
        EXPECT_FALSE(points[i].outside);
    }
    // The handbook prints the limits after very many readings.
    std::vector<double> const long_quiet(400, in["target"].get<double>());
    auto const late = ewma(long_quiet, {in["target"], in["s"], 1}, in["lambda"], in["k"]).back();
    EXPECT_NEAR(late.high, r["expected"]["ucl"], r["tolerance"]["limits"]);
    EXPECT_NEAR(late.low, r["expected"]["lcl"], r["tolerance"]["limits"]);
    auto const& v = row("ewma_variance");
    std::vector<double> const zeros(20, 0.0);
    auto const exact = ewma(zeros, {0, 1, 1}, v["inputs"]["lambda"], 1);
    for (std::size_t i = 0; i < v["inputs"]["t"].size(); ++i)
        expect_relative(exact[v["inputs"]["t"][i].get<std::size_t>() - 1].high,
                        v["expected"]["factor"][i],
                        v["tolerance"]["rel"],
                        "factor");
}

TEST(PublishedControlCharts, CumulativeSums) {
    auto const& r = row("cusum_series");
    auto const y = numbers(r["inputs"]["y"]);
    auto const points = cusum(y, r["inputs"]["mu"], r["inputs"]["K"], r["inputs"]["H"]);
    for (std::size_t i = 0; i < y.size(); ++i) {
        EXPECT_NEAR(points[i].high, r["expected"]["C_plus"][i], r["tolerance"]["abs"]) << i;
        EXPECT_NEAR(points[i].low, r["expected"]["C_minus"][i], r["tolerance"]["abs"]) << i;
    }
    auto const signal = r["expected"]["first_signal"].get<std::size_t>();
    EXPECT_TRUE(points[signal - 1].outside);
    EXPECT_FALSE(points[signal - 2].outside);
    EXPECT_EQ(points[signal - 1].run_high, r["expected"]["N_plus"].get<std::size_t>());
}

TEST(PublishedControlCharts, RunLengthsOfPlainChartsAndCumulativeSums) {
    auto const& plain = row("run_length_shewhart");
    for (std::size_t i = 0; i < plain["inputs"]["shift"].size(); ++i)
        expect_relative(shewhart_run_length(3, plain["inputs"]["shift"][i]),
                        plain["expected"]["arl"][i],
                        plain["tolerance"]["rel"],
                        "plain");
    for (auto const* id : {"run_length_cusum_4", "run_length_cusum_5"}) {
        auto const& r = row(id);
        double const k = r["inputs"]["k"], h = r["inputs"]["h"];
        for (std::size_t i = 0; i < r["inputs"]["shift"].size(); ++i) {
            double const shift = r["inputs"]["shift"][i];
            double const half_a_digit = 0.006;
            double const wanted = r["expected"]["arl"][i];
            EXPECT_NEAR(cusum_run_length(k, h, shift),
                        wanted,
                        std::max(r["tolerance"]["rel"].get<double>() * wanted, half_a_digit))
                << id << " " << shift;
            if (!r["expected"].contains("arl_headstart_h_half")) continue;
            double const quick = r["expected"]["arl_headstart_h_half"][i];
            EXPECT_NEAR(cusum_run_length(k, h, shift, h / 2),
                        quick,
                        std::max(r["tolerance"]["rel"].get<double>() * quick, half_a_digit))
                << id << " head start " << shift;
        }
    }
    for (auto const* id : {"run_length_one_sided", "run_length_one_sided_k0"}) {
        auto const& r = row(id);
        for (std::size_t i = 0; i < r["inputs"]["shift"].size(); ++i)
            EXPECT_NEAR(cusum_run_length_one_sided(
                            r["inputs"]["k"], r["inputs"]["h"], r["inputs"]["shift"][i]),
                        r["expected"]["arl"][i],
                        std::max(r["tolerance"]["rel"].get<double>() *
                                     r["expected"]["arl"][i].get<double>(),
                                 0.006))
                << id;
    }
}

TEST(PublishedControlCharts, RunLengthsOfExponentialMeans) {
    auto const& r = row("run_length_ewma");
    for (auto const* lambda : {"0.5", "0.05"})
        for (std::size_t i = 0; i < r["inputs"]["shift"].size(); ++i)
            expect_relative(ewma_run_length(std::stod(lambda), 2, r["inputs"]["shift"][i]),
                            r["expected"][lambda][i],
                            r["tolerance"]["rel"],
                            lambda);
    auto const& many = row("run_length_ewma_500");
    for (auto const& scheme : many["inputs"]["schemes"]) {
        double const lambda = scheme[0], L = scheme[1];
        auto const wanted =
            many["expected"]["computed"].at(scheme[0].dump()).get<std::vector<double>>();
        for (std::size_t i = 0; i < wanted.size(); ++i)
            expect_relative(ewma_run_length(lambda, L, many["inputs"]["shift"][i]),
                            wanted[i],
                            many["tolerance"]["rel"],
                            scheme[0].dump());
    }
    EXPECT_NEAR(ewma_limit_for(0.2, 500).value(), 2.962, 1e-3);  // same table, read backward
    EXPECT_NEAR(cusum_limit_for(0.5, 168).value(), 4, 5e-3);     // Lucas and Crosier 1982
}

TEST(PublishedControlCharts, RunRules) {
    auto const& r = row("run_rules");
    std::vector<std::pair<char const*, RunRule>> const rules = {
        {"C1", RunRule::three_sigma},
        {"C1+2of3", RunRule::and_two_of_three},
        {"C1+4of5", RunRule::and_four_of_five},
        {"C1+8row", RunRule::and_eight_in_a_row}};
    for (auto const& [name, rule] : rules)
        for (std::size_t i = 0; i < r["inputs"]["shift"].size(); ++i)
            EXPECT_NEAR(run_rules_run_length(rule, r["inputs"]["shift"][i]),
                        r["expected"][name][i],
                        r["tolerance"]["abs"])
                << name << " " << r["inputs"]["shift"][i];
}

}  // namespace
}  // namespace gw::metrology
