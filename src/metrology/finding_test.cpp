#include "metrology/finding.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <nlohmann/json.hpp>

#include "base/random.hpp"
#include "metrology/statistics.hpp"

namespace gw::metrology {
namespace {

Criterion const within_a_tenth{
    -0.1, 0.1, "%", Rule::guarded, 2, true, "contract 7.2", std::nullopt, ""};

Finding judged(std::optional<double> value,
               std::optional<double> u,
               Criterion const& c,
               double df = 0) {
    Finding f;
    f.id = "cv_bias";
    f.value = value;
    f.u = u;
    judge(f, &c, df);
    return f;
}

TEST(Judge, GuardedLooksAtTheWholeInterval) {
    EXPECT_EQ(judged(0.05, 0.02, within_a_tenth).verdict, Verdict::meets);
    EXPECT_EQ(judged(0.05, 0.03, within_a_tenth).verdict, Verdict::unclear);
    EXPECT_EQ(judged(0.15, 0.03, within_a_tenth).verdict, Verdict::unclear);
    EXPECT_EQ(judged(0.15, 0.02, within_a_tenth).verdict, Verdict::fails);
    EXPECT_EQ(judged(-0.15, 0.02, within_a_tenth).verdict, Verdict::fails);
    EXPECT_EQ(judged(0.0, 1.0, within_a_tenth).verdict, Verdict::unclear)
        << "wider than both limits";
    EXPECT_EQ(judged(0.1, 0.0, within_a_tenth).verdict, Verdict::meets) << "the edge is inside";
}

TEST(Judge, FewRunsWidenTheInterval) {
    EXPECT_EQ(judged(0.05, 0.02, within_a_tenth, 50).verdict, Verdict::meets);
    auto const few = judged(0.05, 0.02, within_a_tenth, 2);  // k = 4.53, JCGM 100 Table G.2
    EXPECT_EQ(few.verdict, Verdict::unclear);
    EXPECT_NEAR(few.k, 4.53, 0.005);
}

TEST(Judge, SimpleLooksAtTheValueAlone) {
    auto legal = within_a_tenth;
    legal.rule = Rule::simple;
    EXPECT_EQ(judged(0.0999, 5.0, legal).verdict, Verdict::meets);
    EXPECT_EQ(judged(0.1, std::nullopt, legal).verdict, Verdict::meets);
    EXPECT_EQ(judged(0.1001, 5.0, legal).verdict, Verdict::fails);
}

TEST(Judge, OneSidedLimitsLeaveTheOtherSideOpen) {
    Criterion const most{std::nullopt, 0.05, "%", Rule::guarded, 2, true, "s", std::nullopt, ""};
    EXPECT_EQ(judged(-1e9, 1.0, most).verdict, Verdict::meets);
    EXPECT_EQ(judged(0.06, 0.001, most).verdict, Verdict::fails);
    Criterion const least{700, std::nullopt, "kPa", Rule::simple, 2, true, "s", std::nullopt, ""};
    EXPECT_EQ(judged(1e9, std::nullopt, least).verdict, Verdict::meets);
    EXPECT_EQ(judged(699, std::nullopt, least).verdict, Verdict::fails);
}

TEST(Judge, GuardedWithoutUncertaintyNeverShowsConformity) {
    auto const inside = judged(0.0, std::nullopt, within_a_tenth);
    EXPECT_EQ(inside.verdict, Verdict::unclear);
    EXPECT_FALSE(inside.note.empty());
    auto const outside = judged(0.2, std::nullopt, within_a_tenth);
    EXPECT_EQ(outside.verdict, Verdict::fails);
    EXPECT_FALSE(outside.note.empty());
    EXPECT_EQ(judged(0.0, -1.0, within_a_tenth).verdict, Verdict::unclear)
        << "a negative u is no u";
}

TEST(Judge, KeepsWhyThereIsNoValue) {
    EXPECT_EQ(judged(std::nullopt, std::nullopt, within_a_tenth).verdict, Verdict::missing);
    EXPECT_EQ(judged(NAN, 0.1, within_a_tenth).verdict, Verdict::missing);
    for (auto const kept : {Verdict::not_yet, Verdict::not_applicable}) {
        Finding f;
        f.verdict = kept;
        judge(f, &within_a_tenth);
        EXPECT_EQ(f.verdict, kept);
        EXPECT_EQ(f.high, 0.1);
    }
    Finding f;
    judge(f, nullptr);
    EXPECT_EQ(f.verdict, Verdict::missing);
    f.value = 3;
    judge(f, nullptr);
    EXPECT_EQ(f.verdict, Verdict::no_limit);
}

TEST(Judge, NeverComparesDifferentUnits) {
    Finding f;
    f.value = 0.0;
    f.u = 0.0;
    f.unit = "MJ/m3";
    judge(f, &within_a_tenth);
    EXPECT_EQ(f.verdict, Verdict::unclear);
    EXPECT_NE(f.note.find("MJ/m3"), std::string::npos);
    f.unit = "percent";
    judge(f, &within_a_tenth);
    EXPECT_EQ(f.verdict, Verdict::meets);
}

TEST(Judge, WarnsOfAValueThatMeetsButStandsOut) {
    Criterion const total{99, 101, "mol%", Rule::simple, 2, true, "s", 0.5, ""};
    EXPECT_TRUE(judged(100.4, std::nullopt, total).note.empty());
    EXPECT_FALSE(judged(99.4, std::nullopt, total).note.empty());
    auto const fails = judged(98.0, std::nullopt, total);
    EXPECT_EQ(fails.verdict, Verdict::fails);
    EXPECT_TRUE(fails.note.empty());
}

// The error rates of a guarded verdict: few runs of unknown scatter beside certificates of known u.
// k = 2 leaves 2.3 % beyond one side: so seldom is a bias that lies on its limit called right, or
// called wrong.
TEST(Judge, ErrsAsSeldomAsItsCoverageSays) {
    Criterion limit;
    limit.low = -0.1;
    limit.high = 0.1;
    limit.unit = "%";
    constexpr double u_certificates = 0.02, scatter = 0.03;
    auto const verdicts = [&](double true_bias, int runs) {
        std::array<int, 3> count{};  // meets, unclear, fails
        for (std::uint64_t trial = 0; trial < 2000; ++trial) {
            RandomStream random(7, trial);
            double const shared = u_certificates * random.normal();
            std::vector<double> each;
            for (int r = 0; r < runs; ++r)
                each.push_back(true_bias + shared + scatter * random.normal());
            double const s = standard_deviation(each) / std::sqrt(runs);
            Finding f;
            f.unit = "%";
            f.value = mean(each);
            f.u = std::hypot(s, u_certificates);
            std::vector<double> const u = {s, u_certificates};
            std::vector<double> const df = {runs - 1.0, 0};
            judge(f, &limit, effective_degrees_of_freedom(u, df));
            ++count[f.verdict == Verdict::meets ? 0 : f.verdict == Verdict::fails ? 2 : 1];
        }
        return count;
    };
    for (int const runs : {3, 5, 10}) {
        auto const edge = verdicts(0.1, runs);
        EXPECT_LE(edge[0], 0.023 * 2000 + 4 * 6.7) << runs;  // 4 standard deviations of chance
        EXPECT_LE(edge[2], 0.023 * 2000 + 4 * 6.7) << runs;
        EXPECT_GE(edge[1], 0.92 * 2000) << runs;
    }
    EXPECT_GE(verdicts(0, 5)[0], 0.90 * 2000);     // power: a right analyser is called right
    EXPECT_GE(verdicts(0.22, 5)[2], 0.95 * 2000);  // and one that is off is called off
    EXPECT_EQ(verdicts(0, 5)[2], 0);
    EXPECT_EQ(verdicts(0.22, 5)[0], 0);
}

TEST(Overall, TakesTheWorstOfTheRequired) {
    auto const of = [](std::vector<std::pair<Verdict, bool>> const& list) {
        std::vector<Finding> findings(list.size());
        for (std::size_t i = 0; i < list.size(); ++i) {
            findings[i].verdict = list[i].first;
            findings[i].required = list[i].second;
        }
        return overall(findings);
    };
    using enum Verdict;
    EXPECT_EQ(of({{meets, true}, {unclear, true}, {missing, true}, {fails, true}}), fails);
    EXPECT_EQ(of({{meets, true}, {unclear, true}, {missing, true}, {fails, false}}), missing);
    EXPECT_EQ(of({{meets, true}, {not_yet, true}, {unclear, true}}), missing);
    EXPECT_EQ(of({{meets, true}, {unclear, true}}), unclear);
    EXPECT_EQ(of({{meets, true}, {not_applicable, true}, {no_limit, true}, {fails, false}}), meets);
    EXPECT_EQ(of({{not_applicable, true}}), missing);
    EXPECT_EQ(of({{meets, false}}), missing);
    EXPECT_EQ(of({}), missing);
}

TEST(FindingJson, HasTheFieldsOfTheContract) {
    auto f = judged(0.05, 0.02, within_a_tenth);
    f.title = "Bias";
    f.n = 6;
    f.basis = "as_left";
    auto const json = finding_json(f);
    for (auto const* key : {"id",
                            "title",
                            "value",
                            "u",
                            "unit",
                            "low",
                            "high",
                            "rule",
                            "k",
                            "limit_source",
                            "verdict",
                            "required",
                            "basis",
                            "n",
                            "inputs"})
        EXPECT_TRUE(json.contains(key)) << key;
    EXPECT_EQ(json["verdict"], "meets");
    EXPECT_EQ(json["rule"], "guarded");
    auto const empty = finding_json(Finding{});
    EXPECT_TRUE(empty["value"].is_null());
    EXPECT_TRUE(empty["low"].is_null());
    EXPECT_TRUE(empty["inputs"].is_array());
    EXPECT_FALSE(empty.contains("gas"));
    EXPECT_FALSE(empty.contains("note"));
}

TEST(FindingText, ShowsTwoFiguresOfTheExpandedUncertainty) {
    auto f = judged(0.12345, 0.0204, within_a_tenth);
    EXPECT_EQ(value_text(f), "0.123 ± 0.041 %");
    EXPECT_EQ(limit_text(f), "-0.1 to 0.1 %");
    f.u = 0.0;
    EXPECT_EQ(value_text(f), "0.1235 %");  // four figures without an uncertainty
    f.u = 250.0;
    EXPECT_EQ(value_text(f), "0 ± 500 %");
    f.value.reset();
    EXPECT_EQ(value_text(f), "no value");
    f.low.reset();
    EXPECT_EQ(limit_text(f), "at most 0.1 %");
    f.high.reset();
    EXPECT_EQ(limit_text(f), "no limit");
    f.low = 0;
    f.unit = "days";
    EXPECT_EQ(limit_text(f), "at least 0 days");
}

TEST(FindingText, TablesHoldOneLineEachWithItsNoteBelow) {
    auto a = judged(0.05, 0.02, within_a_tenth);
    a.title = "Bias";
    a.stream = "1";
    Finding b;
    b.id = "pressure";
    b.note = "No gauge was read.";
    auto const text = findings_table({a, b});
    EXPECT_NE(text.find("meets *"), std::string::npos);
    EXPECT_NE(text.find("Bias (stream 1)"), std::string::npos);
    EXPECT_NE(text.find("contract 7.2"), std::string::npos);
    EXPECT_NE(text.find("\n         No gauge was read.\n"), std::string::npos) << text;
    EXPECT_EQ(findings_table({}), "");
}

TEST(ValueText, NeverRoundsAcrossALimit) {
    Finding f;
    f.unit = "%";
    f.value = 0.0678123;
    EXPECT_EQ(value_text(f), "0.06781 %");
    f.high = 0.05;
    f.value = 0.050000049;
    EXPECT_EQ(value_text(f), "0.050000049 %") << "0.05 would look like the limit itself";
    f.value = 0.05;
    EXPECT_EQ(value_text(f), "0.05 %");
    f.low = -0.1;
    f.value = -0.100004;
    EXPECT_EQ(value_text(f), "-0.100004 %");
}

}  // namespace
}  // namespace gw::metrology
