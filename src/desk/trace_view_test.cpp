#include "desk/trace_view.hpp"

#include <gtest/gtest.h>

#include <cstring>
#include <nlohmann/json.hpp>

#include "desk/demo_scenario.hpp"
#include "trace/trace_file.hpp"

namespace gw::desk {
namespace {

struct Given {
    DemoScenario scenario = *demo_scenario();
    std::string csv = trace::trace_csv(scenario.run("new", scenario.gases.begin()->first, 1));
    std::string method;
    Given() {
        for (auto const& [name, text] : scenario.files)
            if (name == "method.json") method = text;
    }
};
Given const& given() {
    static Given const once;
    return once;
}

std::vector<double> row(std::string const& block, std::size_t which) {
    std::uint32_t n = 0;
    std::memcpy(&n, block.data(), sizeof n);
    std::vector<double> out(n);
    std::memcpy(out.data(), block.data() + 8 + 8 * n * which, 8 * n);
    return out;
}

TEST(TraceView, SaysWhatTracePeaksSays) {
    auto const view = trace_view(given().csv, "run.csv", {}, given().method);
    ASSERT_TRUE(view) << view.error().what;
    auto const json = trace_view_json(*view);
    EXPECT_EQ(json["peaks"], trace_peaks_json(view->peaks)["peaks"]);
    EXPECT_GE(json["peaks"].size(), 10U);
    EXPECT_EQ(json["events"].size(), given().scenario.method.valve_programme.size());
    EXPECT_EQ(json["id"].get<std::string>().size(), 64U);
    EXPECT_EQ(json["detectors"].size(), view->trace.signals.size());
}

TEST(TraceView, AStretchIsThinnedAndKeepsItsHighestPoint) {
    auto const view = *trace_view(given().csv, "run.csv", {}, given().method);
    auto const whole = stretch_bytes(view, {1, view.trace.start_s, view.trace.end_s(), 500});
    ASSERT_TRUE(whole);
    auto const t = row(*whole, 0), y = row(*whole, 1), base = row(*whole, 2);
    EXPECT_LE(t.size(), 500U);
    EXPECT_EQ(t.front(), view.trace.start_s);
    EXPECT_DOUBLE_EQ(t.back(), view.trace.end_s());
    EXPECT_EQ(*std::max_element(y.begin(), y.end()),
              static_cast<double>(
                  *std::max_element(view.trace.signals[0].begin(), view.trace.signals[0].end())));
    EXPECT_EQ(base.size(), t.size());
    // A short stretch comes whole, with one sample beyond either edge.
    auto const part = *stretch_bytes(view, {1, 20.01, 21.01, 500});
    auto const near = row(part, 0);
    EXPECT_LE(near.front(), 20.01);
    EXPECT_GE(near.back(), 21.01);
    EXPECT_NEAR(static_cast<double>(near.size()), 1 / view.trace.interval_s + 2, 1);
}

TEST(TraceView, AHandPeakStandsBesideWhatWasFound) {
    auto const view = *trace_view(given().csv, "run.csv", {}, given().method);
    auto const& own = view.peaks.run.peaks.front();
    HandRequest request{own.peak.detector, {own.peak.start_s, own.peak.end_s, {}, {}}, ""};
    auto const same = hand_peak_json(view, request);
    ASSERT_TRUE(same) << same.error().what;
    EXPECT_EQ((*same)["area_found"], own.peak.area);
    EXPECT_NEAR((*same)["change_percent"].get<double>(), 0, 1);
    request.ends.end_s = own.peak.apex_s;
    EXPECT_LT((*hand_peak_json(view, request))["change_percent"].get<double>(), -20);
}

TEST(TraceView, ADecisionNeedsAReasonAndAPerson) {
    auto const view = *trace_view(given().csv, "run.csv", {}, "");
    HandRequest const request{1, {10, 20, {}, {}}, ""};
    auto const at = *parse_instant("2026-05-19T10:00:00Z", "at");
    EXPECT_EQ(hand_decision(view, request, " ", "A. Person", at).error().where, "reason");
    EXPECT_EQ(hand_decision(view, request, "cut by the valve", "", at).error().where, "by");
    auto const kept = hand_decision(view, request, "cut by the valve", "A. Person", at);
    ASSERT_TRUE(kept) << kept.error().what;
    EXPECT_EQ((*kept)["trace_sha256"], view.trace.hash);
    EXPECT_EQ((*kept)["peak"]["start_s"], 10);
}

TEST(TraceView, TakesAMethodLater) {
    auto const plain = *trace_view(given().csv, "run.csv", {}, "");
    auto const named = trace_view_under(plain, given().method);
    ASSERT_TRUE(named) << named.error().what;
    EXPECT_EQ(trace_view_json(*named),
              trace_view_json(*trace_view(given().csv, "run.csv", {}, given().method)));
    EXPECT_FALSE(trace_view_under(plain, "[]"));
}

TEST(TraceView, GivesAPicture) {
    auto const view = *trace_view(given().csv, "run.csv", {}, given().method);
    EXPECT_NE(trace_picture(view, "svg")->find("<svg"), std::string::npos);
    EXPECT_EQ(trace_picture(view, "png")->substr(1, 3), "PNG");
    EXPECT_FALSE(trace_picture(view, "exe"));
}

TEST(TraceView, RefusesWhatIsNoTrace) {
    EXPECT_FALSE(trace_view("component,area\nmethane,1\n", "report.csv", {}, ""));
    EXPECT_FALSE(trace_view("\x89PNG\r\n", "picture.png", {}, ""));
    EXPECT_FALSE(trace_view("", "empty.csv", {}, ""));
    EXPECT_EQ(trace_view(given().csv, "run.csv", {}, "{").error().code, Errc::bad_input);
    auto const view = *trace_view(given().csv, "run.csv", {}, "");
    EXPECT_EQ(stretch_bytes(view, {9, 0, 1, 100}).error().code, Errc::not_found);
    EXPECT_EQ(stretch_bytes(view, {1, 5, 5, 100}).error().code, Errc::bad_input);
}

}  // namespace
}  // namespace gw::desk
