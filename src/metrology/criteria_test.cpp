#include "metrology/criteria.hpp"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

namespace gw::metrology {
namespace {

Result<CriteriaSet> read(std::string const& text) {
    auto const document = parse_json(text, "c.json");
    if (!document) return pass_on(document.error());
    return read_criteria(document->root());
}

TEST(Criteria, ShippedSetsAreReadWithoutAWarning) {
    EXPECT_EQ(shipped_criteria(), (std::vector<std::string>{"custody", "us-federal", "oiml-a"}));
    for (auto const& name : shipped_criteria()) {
        auto const set = shipped_criteria(name);
        ASSERT_TRUE(set) << one_line(set.error());
        EXPECT_EQ(set->name, name);
        EXPECT_TRUE(set->warnings.empty()) << set->warnings.front();
        EXPECT_TRUE(set->find("unnormalised_total")->required);
        EXPECT_TRUE(set->find("cv_repeatability")->required);
        for (auto const& entry : set->limits)
            EXPECT_FALSE(entry.second.unit.empty()) << entry.first;
    }
    EXPECT_FALSE(shipped_criteria("guild"));
}

TEST(Criteria, CustodyHoldsTheContractsLimit) {
    auto const set = shipped_criteria("custody");
    auto const* bias = set->find("cv_bias");
    ASSERT_NE(bias, nullptr);
    EXPECT_EQ(bias->low, -0.1);
    EXPECT_EQ(bias->high, 0.1);
    EXPECT_EQ(bias->rule, Rule::guarded);
    EXPECT_TRUE(bias->required);
    EXPECT_FALSE(set->find("cv_self_check")->required);
    EXPECT_EQ(shipped_criteria("us-federal")->find("cv_bias"), nullptr);
    EXPECT_EQ(shipped_criteria("oiml-a")->find("cv_bias")->rule, Rule::simple);
}

TEST(Criteria, FallBackFromANameToItsFamily) {
    auto const set = read(R"({"factor_shift:methane": {"high": 1, "source": "s"},
                              "factor_shift:*": {"high": 2, "source": "s"},
                              "cv_bias": {"high": 3, "source": "s"}})");
    ASSERT_TRUE(set);
    EXPECT_EQ(set->find("factor_shift:methane")->high, 1);
    EXPECT_EQ(set->find("factor_shift:ethane")->high, 2);
    EXPECT_EQ(set->find("component_bias:ethane"), nullptr);
    EXPECT_EQ(set->find("factor_shift"), nullptr);
    EXPECT_EQ(set->find("cv_bias:x"), nullptr);
}

TEST(Criteria, AFileMayExtendAShippedSetAndTakeAway) {
    auto const set =
        read(R"({"schema": "gaswright.criteria/1", "name": "ours", "extends": "custody",
        "cv_bias": {"low": -0.2, "high": 0.2, "unit": "%", "rule": "simple", "required": true, "source": "contract 4"},
        "factor_pattern": null})");
    ASSERT_TRUE(set) << one_line(set.error());
    EXPECT_EQ(set->name, "ours");
    EXPECT_EQ(set->find("cv_bias")->high, 0.2);
    EXPECT_EQ(set->find("factor_pattern"), nullptr);
    EXPECT_NE(set->find("cv_repeatability"), nullptr);
    auto const wrong = read(R"({"extends": "guild"})");
    ASSERT_FALSE(wrong);
    EXPECT_EQ(wrong.error().where, "c.json:extends");
}

TEST(Criteria, LimitsMayStandInABlockOfTheirOwn) {
    auto const set = read(R"({"name": "x", "limits": {"cv_bias": {"high": 1, "source": "s"}}})");
    ASSERT_TRUE(set);
    EXPECT_NE(set->find("cv_bias"), nullptr);
}

TEST(Criteria, RefusesWhatCannotBeALimit) {
    for (auto const* bad : {R"({})",
                            R"([])",
                            R"({"schema": "gaswright.cylinder/1"})",
                            R"({"cv_bias": 0.1})",
                            R"({"cv_bias": {"source": "s"}})",
                            R"({"cv_bias": {"low": 2, "high": 1, "source": "s"}})",
                            R"({"cv_bias": {"high": 1}})",
                            R"({"cv_bias": {"high": 1, "source": "  "}})",
                            R"({"cv_bias": {"high": 1, "source": "s", "rule": "generous"}})",
                            R"({"cv_bias": {"high": "1", "source": "s"}})",
                            R"({"cv_bias": {"high": 1, "source": "s", "k": 0}})",
                            R"({"cv_bias": {"high": 1, "source": "s", "required": 1}})"})
        EXPECT_FALSE(read(bad)) << bad;
    auto const error = read(R"({"cv_bias": {"low": 2, "high": 1, "source": "s"}})");
    EXPECT_EQ(error.error().where, "c.json:cv_bias");
}

TEST(Criteria, WarnsOfWhatItWouldNeverUse) {
    auto const set = read(
        R"({"cv_bais": {"high": 1, "source": "s"}, "cv_bias": {"high": 1, "hihg": 2, "source": "s"}})");
    ASSERT_TRUE(set);
    ASSERT_EQ(set->warnings.size(), 2U);
    EXPECT_NE(set->warnings[0].find("cv_bais"), std::string::npos);
    EXPECT_NE(set->warnings[1].find("hihg"), std::string::npos);
}

}  // namespace
}  // namespace gw::metrology
