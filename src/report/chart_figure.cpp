#include "report/chart_figure.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.hpp"
#include "report/label_layout.hpp"
#include "report/palette.hpp"

namespace gw::report {

namespace {

constexpr double panel_height = 120, title_height = 14, foot = 30, size = 7.5;

struct Scale {
    Box box;
    double t0{}, t1{}, low{}, high{};
    [[nodiscard]] double x(double t) const {
        return box.x + box.width * (t1 > t0 ? (t - t0) / (t1 - t0) : 0.5);
    }
    [[nodiscard]] double y(double v) const {
        return box.bottom() - box.height * (v - low) / (high - low);
    }
};

Type small(Ink colour) { return {size, false, false, colour}; }

Scale scale_of(visit::Chart const& chart,
               metrology::ChartLimits const& limits,
               Box box,
               double t0,
               double t1) {
    Scale out{box, t0, t1, 0, 1};
    bool first = true;
    auto const take = [&](double v) {
        out.low = first ? v : std::min(out.low, v);
        out.high = first ? v : std::max(out.high, v);
        first = false;
    };
    for (auto const& s : chart.stretches) {
        for (double const v : s.y) take(v);
        if (!s.judged()) continue;
        take(s.chart.mean - limits.individuals * s.chart.sd);
        take(s.chart.mean + limits.individuals * s.chart.sd);
    }
    double const span =
        std::max(out.high - out.low, 1e-9 * std::max(std::abs(out.high), std::abs(out.low)));
    double const edge = span > 0 ? 0.06 * span : 1;
    out.low -= edge;
    out.high += edge;
    return out;
}

void draw_stretch(Canvas& canvas,
                  Scale const& scale,
                  metrology::ChartLimits const& limits,
                  visit::ChartStretch const& s) {
    auto const& chart = s.chart;
    double const from = scale.x(s.t.front()), to = scale.x(s.t.back());
    if (s.judged()) {
        double const half = limits.individuals * chart.sd;
        auto const level = [&](double v, Pen const& pen) {
            canvas.line({from, scale.y(v)}, {std::max(to, from + 2), scale.y(v)}, pen);
        };
        level(chart.mean, {soft, 0.5, {}});
        level(chart.mean - half, {soft, 0.5, {3, 2}});
        level(chart.mean + half, {soft, 0.5, {3, 2}});
        if (chart.change.kind != metrology::ChangeKind::none) {
            auto const& m = chart.change.chosen();
            double const a = scale.x(std::max(m.from, scale.t0)),
                         b = scale.x(std::min(m.to, scale.t1));
            canvas.fill(Box{a, scale.box.y, std::max(b - a, 1.0), scale.box.height}, wash);
            double const at = scale.x(m.at);
            canvas.line({at, scale.box.y}, {at, scale.box.bottom()}, {doubt, 0.8, {}});
        }
        std::vector<Point> smooth;
        for (std::size_t i = 0; i < s.t.size(); ++i)
            if (chart.points[i].judged)
                smooth.push_back(
                    {scale.x(s.t[i]), scale.y(chart.mean + chart.points[i].ewma * chart.sd)});
        if (smooth.size() > 1) canvas.path(smooth, {accent, 0.9, {}});
    }
    for (std::size_t i = 0; i < s.t.size(); ++i) {
        Point const at{scale.x(s.t[i]), scale.y(s.y[i])};
        bool const wild = i < chart.points.size() && chart.points[i].set_aside;
        canvas.disc(at, wild ? 1.6 : 1.1, wild ? alarm : ink);
        if (wild) canvas.ring(at, 3, {alarm, 0.8, {}});  // a shape too, not a colour alone
    }
    // CUSUM signals: a small triangle at the foot of the panel.
    for (auto const& signal : chart.cusum) {
        double const x = scale.x(s.t[signal.index]), y = scale.box.bottom();
        std::vector<Point> const corners = {{x, y - 6}, {x - 3, y}, {x + 3, y}};
        canvas.fill(corners, alarm);
    }
}

void draw_panel(Canvas& canvas,
                visit::Chart const& chart,
                metrology::ChartLimits const& limits,
                Box box,
                double t0,
                double t1) {
    auto name = chart.name;
    if (chart.corrected_for == "barometer") name += ", brought to one pressure of the air";
    if (chart.corrected_for == "methane") name += " over that of methane";
    canvas.text({box.x, box.y, box.width, title_height}, name, {size, true, false, ink});
    double const axis = 46;
    Box const plot{
        box.x + axis, box.y + title_height, box.width - axis, box.height - title_height - 6};
    auto const scale = scale_of(chart, limits, plot, t0, t1);
    for (auto const& s : chart.stretches) {
        if (s.event.empty()) continue;
        double const x = scale.x(s.t.front());
        canvas.line({x, plot.y}, {x, plot.bottom()}, {ink, 0.7, {1, 2}});
    }
    {
        auto const inside = canvas.clip(plot);
        for (auto const& s : chart.stretches) draw_stretch(canvas, scale, limits, s);
    }
    canvas.frame(plot, {hair, 0.5, {}});
    auto const ticks = round_ticks(scale.low, scale.high, 4);
    int const decimals = tick_decimals(ticks);
    for (double const tick : ticks) {
        double const y = scale.y(tick);
        canvas.line({plot.x - 2, y}, {plot.x, y}, {soft, 0.5, {}});
        canvas.text({box.x, y - 0.6 * size, axis - 4, 1.4 * size},
                    fixed(tick, decimals),
                    small(soft),
                    Align::right);
    }
    // The words of a break stand at the head of its line where there is room beside the next one.
    double last = plot.x - 1;
    for (std::size_t i = 0; i < chart.stretches.size(); ++i) {
        auto const& s = chart.stretches[i];
        if (s.event.empty()) continue;
        double const x = scale.x(s.t.front()) + 2;
        double const room =
            (i + 1 < chart.stretches.size() ? scale.x(chart.stretches[i + 1].t.front())
                                            : plot.right()) -
            x - 2;
        if (room < 18 || x < last) continue;
        auto const words = canvas.measure(s.event, small(soft));
        canvas.fill(Box{x, plot.y + 1, std::min(words.width, room), words.height}, sheet);
        canvas.text({x, plot.y + 1, room, 1.4 * size}, s.event, small(soft));
        last = x + room;
    }
}

}  // namespace

double chart_figure_height(ChartFigure const& figure) {
    return 20 + 24 +
           panel_height *
               static_cast<double>(std::max<std::size_t>(figure.charts.charts.size(), 1)) +
           foot;
}

void draw_charts(Canvas& canvas, Box box, ChartFigure const& figure) {
    canvas.text({box.x, box.y, box.width, 12}, figure.title, {9, true, false, ink});
    double t0 = 0, t1 = 1;
    bool first = true;
    for (auto const& chart : figure.charts.charts)
        for (auto const& s : chart.stretches) {
            t0 = first ? s.t.front() : std::min(t0, s.t.front());
            t1 = first ? s.t.back() : std::max(t1, s.t.back());
            first = false;
        }
    if (first) {
        canvas.text({box.x, box.y + 18, box.width, 12}, "No readings to draw.", small(soft));
        return;
    }
    auto const count = static_cast<double>(figure.charts.charts.size());
    double const height = (box.height - 18 - foot) / count;
    double y = box.y + 18;
    for (auto const& chart : figure.charts.charts) {
        draw_panel(canvas, chart, figure.charts.limits, {box.x, y, box.width, height}, t0, t1);
        y += height;
    }
    if (figure.series != nullptr) {
        canvas.text({box.x + 46, y, 0.5 * box.width, 10},
                    figure.series->time_text(t0) + (figure.series->start ? "" : " s"),
                    small(soft));
        canvas.text({box.x + 0.5 * box.width, y, 0.5 * box.width, 10},
                    figure.series->time_text(t1) + (figure.series->start ? "" : " s"),
                    small(soft),
                    Align::right);
    }
    canvas.text({box.x + 46, y + 12, box.width - 46, 10},
                "dots: readings; ringed: outside the limits (dashed); line: EWMA; triangle: CUSUM "
                "signal; shaded: when a change began (95 %); dotted: break",
                small(soft));
}

std::string chart_description(ChartFigure const& figure) {
    std::string out = figure.title + "\n";
    for (auto const& chart : figure.charts.charts)
        for (auto const& s : chart.stretches) {
            out += fmt::format("{}{}: {} readings, centre {:.6g}, {} outside the limits",
                               chart.name,
                               s.event.empty() ? "" : " after " + s.event,
                               s.y.size(),
                               s.chart.mean,
                               s.chart.individuals.size());
            if (s.chart.change.kind != metrology::ChangeKind::none && figure.series != nullptr)
                out += fmt::format(", a {} from {}",
                                   name(s.chart.change.kind),
                                   figure.series->time_text(s.chart.change.chosen().at));
            out += ".\n";
        }
    return out;
}

}  // namespace gw::report
