#include "report/handover.hpp"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "base/hash.hpp"

namespace gw::report {
namespace {

using metrology::Finding;
using metrology::Verdict;

Finding finding(std::string id, Verdict verdict) {
    Finding f;
    f.id = std::move(id);
    f.title = "Calorific value, " + f.id;
    if (verdict != Verdict::missing) f.value = verdict == Verdict::fails ? -0.385 : -0.003;
    f.u = 0.016;
    f.unit = "%";
    f.low = -0.1;
    f.high = 0.1;
    f.verdict = verdict;
    f.required = true;
    f.limit_source = "common practice, no source";
    return f;
}

Handover page(Verdict found, Verdict left) {
    Handover h;
    h.site = "Site";
    h.analyser = "A-1";
    h.occasion = "Visit 1";
    h.date = Date{20500};
    h.as_found = {finding("cv_bias", found)};
    h.as_left = {finding("cv_bias", left)};
    h.program = "gaswright 0";
    return h;
}

void expect_clean(Canvas const& canvas) {
    auto const& placed = canvas.placed();
    for (std::size_t i = 0; i < placed.size(); ++i) {
        for (std::size_t j = i + 1; j < placed.size(); ++j)
            EXPECT_FALSE(overlap(placed[i], placed[j]))
                << "\"" << placed[i].text << "\" and \"" << placed[j].text << "\"";
        for (auto const& p : placed[i].corners) {
            EXPECT_GE(p.x, 18) << placed[i].text;
            EXPECT_LE(p.x, canvas.size().width - 18) << placed[i].text;
            EXPECT_GE(p.y, 18) << placed[i].text;
            EXPECT_LE(p.y, canvas.size().height - 18) << placed[i].text;
        }
    }
}

TEST(HandoverAnswer, IsMadeFromTheVerdicts) {
    auto const good = answer_of(page(Verdict::fails, Verdict::meets));
    EXPECT_TRUE(good.shown);
    EXPECT_EQ(good.heading, "Conformity shown");
    EXPECT_NE(good.evidence.find("-0.003"), std::string::npos) << good.evidence;
    EXPECT_NE(good.before.find("not shown. Fails"), std::string::npos) << good.before;
    for (auto const verdict :
         {Verdict::fails, Verdict::unclear, Verdict::missing, Verdict::not_yet}) {
        auto const bad = answer_of(page(Verdict::meets, verdict));
        EXPECT_FALSE(bad.shown);
        EXPECT_EQ(bad.heading, "Conformity not shown");
        EXPECT_NE(bad.evidence.find("calorific value, cv_bias"), std::string::npos) << bad.evidence;
    }
}

TEST(HandoverAnswer, NeedsAnIndependentGasAndFinalFindings) {
    auto own_gas = page(Verdict::meets, Verdict::meets);
    own_gas.as_left[0].id = "cv_self_check";
    EXPECT_FALSE(answer_of(own_gas).shown);
    EXPECT_NE(answer_of(own_gas).evidence.find("independent"), std::string::npos);
    EXPECT_NE(answer_of(own_gas).verdict, Verdict::meets) << "the mark must not say otherwise";
    auto early = page(Verdict::meets, Verdict::meets);
    early.as_left[0].provisional = true;
    EXPECT_FALSE(answer_of(early).shown);
    EXPECT_FALSE(answer_of(Handover{}).shown) << "nothing judged, nothing shown";
    auto found_only = page(Verdict::meets, Verdict::meets);
    found_only.as_left.clear();
    EXPECT_TRUE(answer_of(found_only).shown);
    EXPECT_NE(answer_of(found_only).evidence.find("as found"), std::string::npos);
    EXPECT_TRUE(answer_of(found_only).before.empty());
}

TEST(HandoverPage, LongWordsNeverMeet) {
    std::string const endless(400, 'W');
    std::string words;
    for (int i = 0; i < 120; ++i) words += "quite long words ";
    for (auto const& text : {endless, words}) {
        auto h = page(Verdict::fails, Verdict::unclear);
        h.site = h.analyser = h.occasion = h.invented = h.consequence = h.program = h.criteria =
            text;
        for (auto* list : {&h.as_found, &h.as_left}) {
            list->front().title = list->front().limit_source = list->front().unit = text;
            for (int i = 0; i < 60; ++i) {
                auto f =
                    finding("f" + std::to_string(i), i % 2 ? Verdict::fails : Verdict::missing);
                f.title = text;
                list->push_back(f);
            }
        }
        for (int i = 0; i < 12; ++i) h.cautions.push_back(text);
        for (int i = 0; i < 9; ++i) h.tables.push_back({text, sha256(text)});
        TraceFigure figure;
        figure.title = figure.subtitle = text;
        figure.trace.interval_s = 0.1;
        figure.trace.unit = text;
        figure.trace.signals = {std::vector<float>(100, 1.0F)};
        figure.detectors = {DetectorView{}};
        h.traces = {figure, figure};
        for (auto const paper : {Paper::a4, Paper::letter})
            EXPECT_TRUE(render(Format::pdf, size_of(paper), {}, [&](Canvas& canvas) {
                draw_handover(canvas, h);
                EXPECT_GT(canvas.placed().size(), 40U);
                expect_clean(canvas);
            }));
    }
}

TEST(HandoverPage, SaysThatInventedDataAreInvented) {
    auto h = page(Verdict::fails, Verdict::meets);
    for (bool const invented : {true, false}) {
        h.invented = invented ? "Made up." : "";
        (void)render(Format::pdf, size_of(Paper::a4), {}, [&](Canvas& canvas) {
            draw_handover(canvas, h);
            int times = 0;
            for (auto const& text : canvas.placed())
                times += text.text.find("INVENTED DATA") != std::string::npos ? 1 : 0;
            EXPECT_EQ(times, invented ? 2 : 0) << "at the top and in the footer";
            expect_clean(canvas);
        });
    }
}

TEST(HandoverPage, GivesTheSameBytesTwiceAndAnyChangeShows) {
    auto h = page(Verdict::fails, Verdict::meets);
    h.evidence = {{"run 1", sha256("1")}};
    auto const first = handover_pdf(h, Paper::a4), second = handover_pdf(h, Paper::a4);
    ASSERT_TRUE(first);
    EXPECT_EQ(*first, *second);
    auto const data = data_checksum(h), evidence = checksum_of(h.evidence);
    EXPECT_EQ(evidence, sha256(sha256("1") + "  run 1\n"));
    h.evidence[0].sha256 = sha256("2");
    EXPECT_NE(checksum_of(h.evidence), evidence);
    EXPECT_NE(data_checksum(h), data);
    EXPECT_NE(*handover_pdf(h, Paper::a4), *first);
}

TEST(HandoverPage, PermitsNothing) {
    for (auto const left : {Verdict::meets, Verdict::fails})
        (void)render(Format::pdf, size_of(Paper::letter), {}, [&](Canvas& canvas) {
            draw_handover(canvas, page(Verdict::fails, left));
            std::string all;
            for (auto const& text : canvas.placed()) all += text.text + "\n";
            for (auto const* word : {"may proceed", "safe to", "approved", "permitted", "go ahead"})
                EXPECT_EQ(all.find(word), std::string::npos) << word;
            EXPECT_NE(all.find("Nothing here is authority"), std::string::npos);
        });
}

}  // namespace
}  // namespace gw::report
