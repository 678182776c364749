// Control charts against published figures; the source of every row stands in
// data/published/control_charts.json.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>

#include "metrology/control_chart.hpp"
#include "metrology/run_length.hpp"
#include "published_rows.hpp"

namespace gw::metrology {
namespace {

class PublishedCharts : public testing::Test {
  protected:
    static Json const& row(std::string const& id) { return published_row("control_charts", id); }
    static void expect_lengths(Json const& r, Json const& expected, auto const& run_length) {
        auto const& shift = r["inputs"]["shift"];
        ASSERT_EQ(shift.size(), expected.size());
        double const relative = r["tolerance"]["relative"], half_digit = r["tolerance"]["absolute"];
        for (std::size_t i = 0; i < shift.size(); ++i) {
            double const want = expected[i];
            EXPECT_NEAR(run_length(shift[i].get<double>()), want, relative * want + half_digit)
                << r["id"] << " at " << shift[i];
        }
    }
};

TEST_F(PublishedCharts, IndividualsRunLengths) {
    auto const& r = row("arl_shewhart");
    expect_lengths(r, r["expected"]["arl"], [](double d) { return shewhart_run_length(3, d); });
}

TEST_F(PublishedCharts, CusumRunLengths) {
    for (auto const* id : {"arl_cusum_h4", "arl_cusum_h5"}) {
        auto const& r = row(id);
        double const k = r["inputs"]["k"], h = r["inputs"]["h"];
        expect_lengths(
            r, r["expected"]["arl"], [&](double d) { return cusum_two_sided_run_length(k, h, d); });
        if (r["expected"].contains("arl_head_start"))
            expect_lengths(r, r["expected"]["arl_head_start"], [&](double d) {
                return cusum_two_sided_run_length(k, h, d, h / 2);
            });
    }
    for (auto const* id : {"arl_cusum_one_sided", "arl_cusum_k0"}) {
        auto const& r = row(id);
        double const k = r["inputs"]["k"], h = r["inputs"]["h"];
        expect_lengths(
            r, r["expected"]["arl"], [&](double d) { return cusum_run_length(k, h, d); });
    }
}

TEST_F(PublishedCharts, EwmaRunLengths) {
    auto const& crowder = row("arl_ewma_crowder");
    for (double const lambda : {0.5, 0.05})
        expect_lengths(crowder, crowder["expected"][lambda == 0.5 ? "0.5" : "0.05"], [&](double d) {
            return ewma_run_length(lambda, crowder["inputs"]["L"], d);
        });
    auto const& lucas = row("arl_ewma_lucas");
    for (auto const& scheme : lucas["inputs"]["schemes"]) {
        double const lambda = scheme[0], L = scheme[1];
        auto const key = fmt::format("{}", lambda);
        expect_lengths(
            lucas, lucas["expected"][key], [&](double d) { return ewma_run_length(lambda, L, d); });
    }
}

// The same tables read backward: the limit that has the printed run length.
TEST_F(PublishedCharts, LimitsForARunLength) {
    EXPECT_NEAR(ewma_limit(0.2, 500), 2.962, 1e-3);  // Lucas and Saccucci 1990, Table 3
    EXPECT_NEAR(ewma_limit(0.05, 500), 2.615, 1e-3);
    EXPECT_NEAR(cusum_limit(0.5, 168), 4, 5e-3);  // Lucas and Crosier 1982, Table 1
    EXPECT_NEAR(cusum_limit(0.5, 465), 5, 5e-3);
    EXPECT_NEAR(shewhart_limit(370.4), 3, 1e-4);
}

TEST_F(PublishedCharts, RunRules) {
    auto const& r = row("run_rules");
    auto const check = [&](char const* key, RunRules const& rules) {
        expect_lengths(
            r, r["expected"][key], [&](double d) { return run_rules_run_length(rules, d); });
    };
    check("beyond_3", {});
    check("two_of_three", {.two_of_three = true});
    check("four_of_five", {.four_of_five = true});
    check("eight_in_row", {.eight_in_row = true});
}

TEST_F(PublishedCharts, Constants) {
    auto const& r = row("constants");
    for (std::size_t i = 0; i < r["inputs"]["n"].size(); ++i) {
        auto const n = r["inputs"]["n"][i].get<std::size_t>();
        EXPECT_NEAR(c4(n), r["expected"]["c4"][i], r["tolerance"]["c4"]);
        EXPECT_NEAR(d2(n), r["expected"]["d2"][i], r["tolerance"]["d2"]);
    }
    EXPECT_NEAR(3 / d2(2), r["expected"]["individuals_factor"], r["tolerance"]["factor"]);
}

TEST_F(PublishedCharts, EwmaExample) {
    auto const& r = row("ewma_example");
    auto const y = r["inputs"]["y"].get<std::vector<double>>();
    double const target = r["inputs"]["target"], s = r["inputs"]["s"],
                 lambda = r["inputs"]["lambda"], k = r["inputs"]["k"];
    auto const z = ewma(y, target, lambda);
    ASSERT_EQ(z.size(), r["expected"]["ewma"].size());
    for (std::size_t i = 0; i < z.size(); ++i)
        EXPECT_NEAR(z[i], r["expected"]["ewma"][i], r["tolerance"]["ewma"]);
    double const edge = k * s * std::sqrt(lambda / (2 - lambda));
    EXPECT_NEAR(target + edge, r["expected"]["upper"], r["tolerance"]["limits"]);
    EXPECT_NEAR(target - edge, r["expected"]["lower"], r["tolerance"]["limits"]);
}

TEST_F(PublishedCharts, EwmaDeviation) {
    auto const& r = row("ewma_deviation");
    for (std::size_t i = 0; i < r["inputs"]["t"].size(); ++i) {
        EXPECT_NEAR(ewma_deviation(r["inputs"]["lambda"], r["inputs"]["t"][i].get<std::size_t>()),
                    r["expected"]["factor"][i],
                    1e-12);
    }
}

TEST_F(PublishedCharts, TabularCusum) {
    auto const& r = row("cusum_example");
    auto const y = r["inputs"]["y"].get<std::vector<double>>();
    double const H = r["inputs"]["H"];
    auto const c = cusum(y, r["inputs"]["mean"], r["inputs"]["K"]);
    std::size_t signal = 0, since = 0;
    for (std::size_t i = 0; i < y.size(); ++i) {
        EXPECT_NEAR(c.up[i], r["expected"]["up"][i], r["tolerance"]);
        EXPECT_NEAR(c.down[i], r["expected"]["down"][i], r["tolerance"]);
        if (signal == 0) since = c.up[i] > 0 ? since + 1 : 0;
        if (signal == 0 && c.up[i] > H) signal = i + 1;
    }
    EXPECT_EQ(signal, r["expected"]["signal"].get<std::size_t>());
    EXPECT_EQ(since, r["expected"]["points_above_zero"].get<std::size_t>());
}

}  // namespace
}  // namespace gw::metrology
