#include "report/comparison.hpp"

#include <gtest/gtest.h>

#include "report/output.hpp"

namespace gw::report {
namespace {

using metrology::Finding;
using metrology::Verdict;

Finding finding(std::string id, double value, Verdict verdict, bool required) {
    Finding f;
    f.id = std::move(id);
    f.title = "Title of " + f.id;
    f.value = value;
    f.unit = "%";
    f.low = -0.1;
    f.high = 0.1;
    f.verdict = verdict;
    f.required = required;
    return f;
}

TEST(Paired, TellsTheSameFindingTogetherAndTheWeightyFirst) {
    auto stream_1 = finding("total", 0, Verdict::meets, true), stream_2 = stream_1;
    stream_1.stream = "1";
    stream_2.stream = "2";
    auto const pairs = paired({finding("quiet", 0, Verdict::meets, false),
                               finding("was bad", 1, Verdict::fails, false),
                               stream_1,
                               stream_2},
                              {stream_2,
                               finding("was bad", 0, Verdict::meets, false),
                               finding("new", 0, Verdict::meets, true)});
    ASSERT_EQ(pairs.size(), 5U);
    EXPECT_EQ(pairs[0].found->stream, "1");
    EXPECT_FALSE(pairs[0].left);
    EXPECT_EQ(pairs[1].left->stream, "2");
    EXPECT_EQ(pairs[2].left->id, "new");
    EXPECT_FALSE(pairs[2].found);
    EXPECT_EQ(pairs[3].found->id, "was bad");
    EXPECT_EQ(pairs[3].left->verdict, Verdict::meets);
    EXPECT_EQ(pairs[4].latest().id, "quiet");
}

TEST(Comparison, CountsWhatItHasNoRoomFor) {
    std::vector<Finding> many;
    for (int i = 0; i < 12; ++i)
        many.push_back(finding("f" + std::to_string(i), 0.01 * i, Verdict::fails, i < 8));
    (void)render(Format::pdf, {523, 200}, {}, [&](Canvas& canvas) {
        auto const drawn = draw_comparison(canvas, {0, 0, 523, 130}, paired(many, {}));
        EXPECT_GT(drawn, 2U);
        EXPECT_LT(drawn, 8U);
        auto const& last = canvas.placed().back().text;
        EXPECT_EQ(last.find(std::to_string(12 - drawn) + " further findings"), 0U) << last;
        EXPECT_NE(last.find("fails"), std::string::npos);
    });
    (void)render(Format::pdf, {523, 400}, {}, [&](Canvas& canvas) {
        EXPECT_EQ(draw_comparison(canvas, {0, 0, 523, 390}, paired(many, many)), 12U);
    });
}

TEST(Comparison, DrawsValuesOfEveryKind) {
    auto none = finding("none", 0, Verdict::missing, true);
    none.value.reset();
    auto far = finding("far", 1e9, Verdict::fails, true);
    far.u = 1e8;
    auto one_sided = finding("one", 0.02, Verdict::meets, true);
    one_sided.low.reset();
    auto at_zero = finding("zero", 2, Verdict::fails, true);
    at_zero.low.reset();
    at_zero.high = 0;
    auto open = finding("open", 5, Verdict::no_limit, false);
    open.low.reset();
    open.high.reset();
    for (auto const& f : {none, far, one_sided, at_zero, open})
        EXPECT_TRUE(render(Format::svg, {523, 100}, {}, [&](Canvas& canvas) {
            EXPECT_EQ(draw_comparison(canvas, {0, 0, 523, 100}, paired({f}, {f})), 1U);
        }));
}

}  // namespace
}  // namespace gw::report
