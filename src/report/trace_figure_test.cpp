#include "report/trace_figure.hpp"

#include <gtest/gtest.h>

#include "report/output.hpp"
#include "trace/synthesis.hpp"

namespace gw::report {
namespace {

// Eleven peaks, three of them closer together than their labels are wide.
TraceFigure crowded() {
    std::vector<std::pair<char const*, double>> const peaks{{"nitrogen", 20},
                                                            {"methane", 24},
                                                            {"carbon dioxide", 27},
                                                            {"ethane", 60},
                                                            {"propane", 80},
                                                            {"isobutane", 120},
                                                            {"n-butane", 123},
                                                            {"neopentane", 126},
                                                            {"isopentane", 130},
                                                            {"n-pentane", 170},
                                                            {"C6+", 195}};
    trace::SyntheticDetector detector;
    TraceFigure figure;
    DetectorView view;
    for (auto const& [name, apex] : peaks) {
        detector.peaks.push_back({40 + apex, apex, 0.6, 0.1});
        trace::Peak peak;
        peak.start_s = apex - 2;
        peak.apex_s = apex;
        peak.end_s = apex + 2;
        peak.height = 20;
        peak.flags.merged = apex > 119 && apex < 131;
        view.peaks.push_back({peak, gas::find_component(name)});
    }
    trace::SynthesisOptions options;
    options.duration_s = 200;
    figure.trace = trace::synthesise({detector}, options);
    figure.trace.gaps = {{2500, 2600}};
    view.baseline.assign(figure.trace.samples(), 0.0F);
    view.kicks = {{150, ""}};
    figure.detectors = {view, view};
    figure.events = {{10, "turn the pre-column back"}, {100, "to rest"}};
    figure.title =
        "a run of a long name that goes on and on, longer than the figure is wide, to see";
    figure.subtitle = "what becomes of a subtitle";
    return figure;
}

void expect_no_overlap(Canvas const& canvas) {
    auto const& placed = canvas.placed();
    for (std::size_t i = 0; i < placed.size(); ++i) {
        for (std::size_t j = i + 1; j < placed.size(); ++j)
            EXPECT_FALSE(overlap(placed[i], placed[j]))
                << "\"" << placed[i].text << "\" and \"" << placed[j].text << "\"";
        for (auto const& p : placed[i].corners) {
            EXPECT_GE(p.x, -0.5) << placed[i].text;
            EXPECT_LE(p.x, canvas.size().width + 0.5) << placed[i].text;
            EXPECT_GE(p.y, -0.5) << placed[i].text;
            EXPECT_LE(p.y, canvas.size().height + 0.5) << placed[i].text;
        }
    }
}

TEST(TraceFigure, NoTwoTextsMeetAtAnySize) {
    for (Size const size : {Size{680, 420}, Size{250, 170}, Size{160, 500}, Size{1200, 200}}) {
        auto const drawn = render(Format::svg, size, {}, [&](Canvas& canvas) {
            draw_trace(canvas, {8, 8, size.width - 16, size.height - 16}, crowded());
            EXPECT_GT(canvas.placed().size(), 10U);
            expect_no_overlap(canvas);
        });
        EXPECT_TRUE(drawn);
    }
}

TEST(TraceFigure, NamesEveryPeakInRoomEnough) {
    (void)render(Format::svg, {680, 420}, {}, [&](Canvas& canvas) {
        auto const figure = crowded();
        draw_trace(canvas, {8, 8, 664, 404}, figure);
        for (auto const& named : figure.detectors[0].peaks) {
            bool found = false;
            for (auto const& text : canvas.placed())
                found = found || text.text == peak_label(named);
            EXPECT_TRUE(found) << peak_label(named);
        }
    });
}

TEST(TraceFigure, IsDescribedInWords) {
    auto const words = trace_description(crowded());
    for (auto const* name : {"nitrogen", "carbon dioxide", "n-butane (merged)", "C6+"})
        EXPECT_NE(words.find(name), std::string::npos) << name;
    assay::NamedPeak unnamed;
    unnamed.peak.apex_s = 46.42;
    EXPECT_EQ(peak_label(unnamed), "46.4 s");
    unnamed.peak.flags.unexpected = true;
    EXPECT_EQ(peak_label(unnamed), "? 46.4 s");
}

TEST(TraceFigure, DrawsEmptyAndFlatRunsToo) {
    for (auto const value : {0.0F, 5.0F, -1e6F}) {
        TraceFigure figure;
        figure.trace.interval_s = 0.1;
        figure.trace.signals = {std::vector<float>(100, value)};
        figure.detectors = {DetectorView{}};
        EXPECT_TRUE(render(Format::pdf, {400, 300}, {}, [&](Canvas& canvas) {
            draw_trace(canvas, {0, 0, 400, 300}, figure);
        }));
    }
    EXPECT_TRUE(render(Format::pdf, {400, 300}, {}, [&](Canvas& canvas) {
        draw_trace(canvas, {0, 0, 400, 300}, TraceFigure{});
    }));
}

}  // namespace
}  // namespace gw::report
