// Laws of decision rules and criteria.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <nlohmann/json.hpp>

#include "metrology/metrology.hpp"

namespace gw::metrology {
namespace {

double between(double low, double high) {
    return low + (high - low) * (*rc::gen::inRange(0, 1000001)) / 1e6;
}

Verdict verdict_of(double value, double u, Criterion const& c, double df = 0) {
    Finding f;
    f.value = value;
    f.u = u;
    judge(f, &c, df);
    return f.verdict;
}

Criterion any_limit() {
    Criterion c;
    c.source = "s";
    c.rule = *rc::gen::element(Rule::guarded, Rule::simple);
    c.k = between(1, 3);
    c.required = *rc::gen::arbitrary<bool>();
    int const sides = *rc::gen::inRange(1, 4);
    double const low = between(-2, 1), span = between(0, 2);
    if ((sides & 1) != 0) c.low = low;
    if ((sides & 2) != 0) c.high = low + span;
    return c;
}

RC_GTEST_PROP(JudgeLaws, KnowingBetterNeverUnsettlesAVerdict, ()) {
    auto const c = any_limit();
    double const value = between(-3, 3), u = between(0, 1), smaller = u * between(0, 1);
    auto const before = verdict_of(value, u, c), after = verdict_of(value, smaller, c);
    if (before != Verdict::unclear) RC_ASSERT(after == before);
}

RC_GTEST_PROP(JudgeLaws, MoreRunsNeverUnsettleAVerdict, ()) {
    auto const c = any_limit();
    double const value = between(-3, 3), u = between(0, 1), few = between(1, 20);
    auto const before = verdict_of(value, u, c, few),
               after = verdict_of(value, u, c, few * between(1, 10));
    if (before != Verdict::unclear) RC_ASSERT(after == before);
}

RC_GTEST_PROP(JudgeLaws, SymmetricLimitsJudgeBothSignsAlike, ()) {
    auto c = any_limit();
    double const limit = between(0, 2);
    c.low = -limit;
    c.high = limit;
    double const value = between(-3, 3), u = between(0, 1);
    RC_ASSERT(verdict_of(value, u, c) == verdict_of(-value, u, c));
}

RC_GTEST_PROP(JudgeLaws, GuardedIsNeverMoreGenerousThanSimple, ()) {
    auto c = any_limit();
    double const value = between(-3, 3), u = between(0, 1);
    c.rule = Rule::guarded;
    auto const guarded = verdict_of(value, u, c);
    c.rule = Rule::simple;
    auto const simple = verdict_of(value, u, c);
    if (guarded != Verdict::unclear) RC_ASSERT(guarded == simple);
}

RC_GTEST_PROP(CriteriaLaws, WrittenSetsReadBackAlike, ()) {
    CriteriaSet set;
    set.name = "site";
    set.title = "a \"site's\" own";
    for (auto const* id : {"cv_bias", "factor_shift:*", "factor_shift:n-butane"}) {
        auto limit = any_limit();
        limit.unit = "%";
        limit.note = *rc::gen::element<std::string>("", "why");
        if (*rc::gen::arbitrary<bool>()) limit.warn = between(0, 1);
        set.limits.emplace(id, limit);
    }
    auto const document = parse_json(to_text(criteria_json(set)), "set");
    RC_ASSERT(static_cast<bool>(document));
    auto const back = read_criteria(document->root());
    RC_ASSERT(static_cast<bool>(back));
    RC_ASSERT(criteria_json(*back) == criteria_json(set));
    RC_ASSERT(back->warnings.empty());
}

RC_GTEST_PROP(StatisticsLaws, ShiftAndScaleMoveMeanAndSpreadAsTheyShould, ()) {
    std::vector<double> x(static_cast<std::size_t>(*rc::gen::inRange(2, 30)));
    for (double& one : x) one = between(-1, 1);
    double const shift = between(-1e6, 1e6), scale = between(0.1, 10);
    std::vector<double> y(x);
    for (double& one : y) one = shift + scale * one;
    RC_ASSERT(std::abs(mean(y) - (shift + scale * mean(x))) < 1e-8);
    RC_ASSERT(std::abs(standard_deviation(y) - scale * standard_deviation(x)) < 1e-8);
    RC_ASSERT(mean(y) >= *std::min_element(y.begin(), y.end()) - 1e-9);
}

}  // namespace
}  // namespace gw::metrology
