// The limits of the shipped criteria sets against the tables they cite, data/published/
// acceptance.json.
#include <gtest/gtest.h>

#include <algorithm>

#include "metrology/criteria.hpp"
#include "published_rows.hpp"

namespace gw::metrology {
namespace {

Json const& row(std::string const& id) { return published_row("acceptance", id); }

bool in_table(Json const& column, double value, double tolerance) {
    auto const all = numbers(column);
    return std::any_of(
        all.begin(), all.end(), [&](double v) { return std::abs(v - value) <= tolerance; });
}

TEST(PublishedAcceptance, ComponentLimitsAreThoseOfTheirTable) {
    auto const& table = row("d1945")["expected"];
    int seen = 0;
    for (auto const& name : shipped_criteria()) {
        auto const set = *shipped_criteria(name);
        for (auto const& [id, limit] : set.limits) {
            if (limit.source.find("D1945") == std::string::npos) continue;
            ++seen;
            if (limit.source.find("reproducibility") != std::string::npos)
                EXPECT_TRUE(in_table(table["R"], *limit.high, 1e-9)) << name << " " << id;
            else  // the standard deviation behind a repeatability limit: r / 2.8, printed to 1e-4
                EXPECT_TRUE(in_table(table["r"], 2.8 * *limit.high, 1.5e-4)) << name << " " << id;
        }
    }
    EXPECT_GT(seen, 20);
    auto const custody = *shipped_criteria("custody");
    EXPECT_EQ(*custody.find("component_bias:methane")->high, table["R"].back());  // over 10 mol%
}

TEST(PublishedAcceptance, ReproducibilityOfTheUsTableAtTheLowEndOfItsRange) {
    auto const& r = row("gpa2261");
    std::map<std::string, std::string> const ids = {{"N2", "nitrogen"},
                                                    {"CO2", "carbon dioxide"},
                                                    {"CH4", "methane"},
                                                    {"C2H6", "ethane"},
                                                    {"C3H8", "propane"},
                                                    {"iC4", "isobutane"},
                                                    {"nC4", "n-butane"},
                                                    {"iC5", "isopentane"},
                                                    {"nC5", "n-pentane"},
                                                    {"C6+", "C6+"}};
    auto const set = *shipped_criteria("us-federal");
    for (std::size_t i = 0; i < r["inputs"]["components"].size(); ++i) {
        auto const& id = ids.at(r["inputs"]["components"][i].get<std::string>());
        double const R = r["expected"]["R"][i], low = r["expected"]["range_mol"][i][0];
        auto const* limit = set.find("component_bias:" + id);
        ASSERT_NE(limit, nullptr) << id;
        EXPECT_NEAR(*limit->high, R / 100 * low, 6e-4) << id;
        EXPECT_NEAR(*limit->low, -R / 100 * low, 6e-4) << id;
    }
}

TEST(PublishedAcceptance, LegalLimits) {
    auto const oiml = *shipped_criteria("oiml-a");
    auto const& r140 = row("r140")["expected"];
    EXPECT_EQ(*oiml.find("cv_bias")->high, r140["module_cv"][0]);
    EXPECT_EQ(*oiml.find("cv_bias")->low, -r140["module_cv"][0].get<double>());
    EXPECT_EQ(oiml.find("cv_bias")->rule, Rule::simple);
    auto const us = *shipped_criteria("us-federal");
    auto const& total = row("cfr_unnormalised")["expected"]["total_percent"];
    EXPECT_EQ(*us.find("unnormalised_total")->low, total[0]);
    EXPECT_EQ(*us.find("unnormalised_total")->high, total[1]);
}

}  // namespace
}  // namespace gw::metrology
