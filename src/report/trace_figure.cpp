#include "report/trace_figure.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/text.hpp"
#include "report/label_layout.hpp"
#include "report/palette.hpp"

namespace gw::report {

namespace {

constexpr double slant = std::numbers::pi / 3;

struct Window {
    double from_s{}, to_s{};
    std::size_t first{}, last{};  // samples, both included
};

Window window_of(TraceFigure const& figure) {
    auto const& trace = figure.trace;
    Window w{figure.from_s.value_or(trace.start_s), figure.to_s.value_or(trace.end_s()), 0, 0};
    if (trace.samples() == 0) return w;
    auto const sample = [&](double t) {
        double const i = (t - trace.start_s) / trace.interval_s;
        return std::clamp(i, 0.0, static_cast<double>(trace.samples() - 1));
    };
    w.first = static_cast<std::size_t>(std::ceil(sample(w.from_s) - 1e-6));
    w.last = static_cast<std::size_t>(std::floor(sample(w.to_s) + 1e-6));
    return w;
}

// One panel: a detector's plot with the row of labels above it.
struct Panel {
    Box plot;
    Window window;
    double low{}, high{};  // of the signal axis, unit

    [[nodiscard]] double x(double t) const {
        return plot.x + (t - window.from_s) / (window.to_s - window.from_s) * plot.width;
    }
    [[nodiscard]] double y(double value) const {
        return plot.bottom() - (value - low) / (high - low) * plot.height;
    }
};

// As many points as the eye can tell apart: of each tenth of a point the first, lowest, highest and
// last sample, so that no spike is lost.
std::vector<Point> thinned(std::span<Point const> points) {
    std::vector<Point> out;
    for (std::size_t i = 0; i < points.size();) {
        std::size_t end = i + 1;
        double const column = std::floor(points[i].x * 10);
        while (end < points.size() && std::floor(points[end].x * 10) == column) ++end;
        std::vector<std::size_t> keep{i, i, i, end - 1};
        for (std::size_t n = i; n < end; ++n) {
            if (points[n].y < points[keep[1]].y) keep[1] = n;
            if (points[n].y > points[keep[2]].y) keep[2] = n;
        }
        std::sort(keep.begin(), keep.end());
        keep.erase(std::unique(keep.begin(), keep.end()), keep.end());
        for (auto const n : keep) out.push_back(points[n]);
        i = end;
    }
    return out;
}

std::vector<Point> curve(Panel const& panel,
                         trace::Trace const& trace,
                         std::vector<float> const& values,
                         std::size_t first,
                         std::size_t last) {
    std::vector<Point> points;
    for (std::size_t i = first; i <= last && i < values.size(); ++i)
        points.push_back({panel.x(trace.time(i)), panel.y(values[i])});
    return thinned(points);
}

// The samples of each peak. Neighbours that overlap share the signal at its lowest point between
// their apexes: a drawing can show only one owner at a time.
struct Extent {
    std::size_t first{}, last{};
    bool shared_with_next = false;
};
std::vector<Extent> extents_of(trace::Trace const& trace, DetectorView const& view) {
    auto const& signal = trace.signals[static_cast<std::size_t>(view.detector - 1)];
    auto const sample = [&](double t) {
        double const i = std::round((t - trace.start_s) / trace.interval_s);
        return static_cast<std::size_t>(
            std::clamp(i, 0.0, static_cast<double>(trace.samples() - 1)));
    };
    std::vector<Extent> out;
    for (auto const& named : view.peaks)
        out.push_back({sample(named.peak.start_s), sample(named.peak.end_s)});
    for (std::size_t i = 0; i + 1 < out.size(); ++i) {
        if (out[i + 1].first >= out[i].last + 2) continue;
        auto const from = sample(view.peaks[i].peak.apex_s),
                   to = sample(view.peaks[i + 1].peak.apex_s);
        auto lowest = std::min(from, to);
        for (auto n = lowest; n <= std::max(from, to); ++n)
            if (signal[n] < signal[lowest]) lowest = n;
        if (out[i + 1].first < out[i].last) out[i].last = out[i + 1].first = lowest;
        out[i].shared_with_next = true;
    }
    return out;
}

void draw_peaks(Canvas& canvas,
                Panel const& panel,
                trace::Trace const& trace,
                DetectorView const& view,
                double size) {
    auto const& signal = trace.signals[static_cast<std::size_t>(view.detector - 1)];
    if (view.baseline.size() != signal.size()) return;
    auto const extents = extents_of(trace, view);
    for (std::size_t i = 0; i < extents.size(); ++i) {
        auto const first = std::max(extents[i].first, panel.window.first),
                   last = std::min(extents[i].last, panel.window.last);
        if (last <= first) continue;
        auto area = curve(panel, trace, signal, first, last);
        auto foot = curve(panel, trace, view.baseline, first, last);
        area.insert(area.end(), foot.rbegin(), foot.rend());
        canvas.fill(area, i % 2 == 0 ? peak_tint : peak_tint_other);
    }
    for (std::size_t i = 0; i < extents.size(); ++i) {
        if (extents[i].shared_with_next && extents[i].last >= panel.window.first &&
            extents[i].last <= panel.window.last) {
            double const x = panel.x(trace.time(extents[i].last));
            canvas.line({x, panel.y(signal[extents[i].last])},
                        {x, panel.y(view.baseline[extents[i].last])},
                        {ink, 0.06 * size, {}});
        }
        for (auto const n : {extents[i].first, extents[i].last}) {
            bool const shared = (n == extents[i].last && extents[i].shared_with_next) ||
                                (i > 0 && n == extents[i].first && extents[i - 1].shared_with_next);
            if (shared || n < panel.window.first || n > panel.window.last) continue;
            double const x = panel.x(trace.time(n)), y = panel.y(view.baseline[n]);
            canvas.line({x, y - 0.25 * size}, {x, y + 0.25 * size}, {soft, 0.06 * size, {}});
        }
    }
}

void draw_signal(Canvas& canvas,
                 Panel const& panel,
                 trace::Trace const& trace,
                 DetectorView const& view,
                 double size) {
    auto const& signal = trace.signals[static_cast<std::size_t>(view.detector - 1)];
    if (view.baseline.size() == signal.size())
        canvas.path(curve(panel, trace, view.baseline, panel.window.first, panel.window.last),
                    {soft, 0.06 * size, {0.35 * size, 0.25 * size}});
    // Samples that were never recorded are no signal: the line stops and dots bridge it.
    std::size_t at = panel.window.first;
    Pen const pen{ink, 0.09 * size, {}};
    for (auto const& gap : trace.gaps) {
        if (gap.last < at || gap.first > panel.window.last) continue;
        if (gap.first > at + 1) canvas.path(curve(panel, trace, signal, at, gap.first - 1), pen);
        canvas.path(curve(panel,
                          trace,
                          signal,
                          std::max(gap.first, std::size_t{1}) - 1,
                          std::min(gap.last + 1, panel.window.last)),
                    {alarm, 0.09 * size, {0.1 * size, 0.3 * size}});
        at = gap.last + 1;
    }
    if (at < panel.window.last)
        canvas.path(curve(panel, trace, signal, at, panel.window.last), pen);
}

void draw_event(Canvas& canvas, Panel const& panel, double at_s, bool open, double size) {
    if (at_s < panel.window.from_s || at_s > panel.window.to_s) return;
    double const x = panel.x(at_s), foot = panel.plot.bottom(), r = 0.32 * size;
    std::vector<Point> const shape{{x, foot}, {x - r, foot - 1.8 * r}, {x + r, foot - 1.8 * r}};
    if (open) {
        canvas.fill(shape, paper);
        canvas.outline(shape, {accent, 0.07 * size, {}});
    } else {
        canvas.fill(shape, accent);
    }
}

void draw_labels(
    Canvas& canvas, Panel const& panel, DetectorView const& view, double band, double size) {
    Type const type{size, false, false, ink};
    double const lean = band / std::tan(slant), longest = band / std::sin(slant);
    double const line_height = canvas.measure("Ag", type).height;
    std::vector<LabelWish> wishes;
    std::vector<assay::NamedPeak const*> shown;
    for (auto const& named : view.peaks) {
        if (named.peak.apex_s < panel.window.from_s || named.peak.apex_s > panel.window.to_s)
            continue;
        double const length = std::min(canvas.measure(peak_label(named), type).width, longest);
        wishes.push_back({panel.x(named.peak.apex_s),
                          panel.plot.right() - std::min(length * std::cos(slant), lean),
                          std::abs(named.peak.height)});
        shown.push_back(&named);
    }
    auto const places = spread_labels(
        wishes, 1.02 * line_height / std::sin(slant), panel.plot.x + 0.4 * line_height);
    Pen const leader{soft, 0.05 * size, {0.1 * size, 0.2 * size}};
    double const foot = panel.plot.y - 0.35 * size;
    for (auto const& place : places) {
        auto const& named = *shown[place.wish];
        double const apex_x = panel.x(named.peak.apex_s);
        auto const sample = static_cast<std::size_t>(
            std::clamp(std::round((named.peak.apex_s - panel.window.from_s) /
                                  std::max(panel.window.to_s - panel.window.from_s, 1e-9) *
                                  static_cast<double>(panel.window.last - panel.window.first)),
                       0.0,
                       static_cast<double>(panel.window.last - panel.window.first)));
        double const height_at =
            panel.window.first + sample < view.baseline.size()
                ? named.peak.height + view.baseline[panel.window.first + sample]
                : panel.low;
        double const apex_y =
            std::clamp(panel.y(height_at) - 0.2 * size, panel.plot.y, panel.plot.bottom());
        std::vector<Point> const lead{
            {apex_x, apex_y}, {apex_x, panel.plot.y + 0.5 * size}, {place.at, foot}};
        if (apex_y > panel.plot.y + 0.5 * size)
            canvas.path(lead, leader);
        else
            canvas.line({apex_x, apex_y}, {place.at, foot}, leader);
        canvas.turned(
            {place.at, foot - 0.1 * size}, slant, longest - 0.6 * size, peak_label(named), type);
    }
    if (places.size() < wishes.size()) {
        // The legend of what is missing stands in the plot's own upper right corner.
        auto const words = fmt::format("{} labels left out", wishes.size() - places.size());
        canvas.text({panel.plot.x, panel.plot.y + 0.2 * size, panel.plot.width - 0.3 * size, size},
                    words,
                    {0.85 * size, false, true, soft},
                    Align::right);
    }
}

void draw_axes(Canvas& canvas,
               Panel const& panel,
               std::string const& name,
               std::string const& unit,
               bool with_times,
               double size) {
    auto const& plot = panel.plot;
    Type const type{size, false, false, soft};
    Pen const pen{soft, 0.06 * size, {}};
    canvas.line({plot.x, plot.y}, {plot.x, plot.bottom()}, pen);
    canvas.line({plot.x, plot.bottom()}, {plot.right(), plot.bottom()}, pen);
    double const height = canvas.measure("0", type).height;
    double const title_room = 1.5 * height;
    auto const values = round_ticks(
        panel.low, panel.high, std::max(2, static_cast<int>(plot.height / (2.6 * size))));
    for (double const value : values) {
        double const y = panel.y(value);
        canvas.line({plot.x - 0.3 * size, y}, {plot.x, y}, pen);
        if (y - height / 2 < plot.y - 0.5 * height || y + height / 2 > plot.bottom() + 0.5 * height)
            continue;
        canvas.text({plot.x - 10 * size, y - height / 2, 9.5 * size, height},
                    fixed(value, tick_decimals(values)),
                    type,
                    Align::right);
    }
    double widest = 0;
    for (double const value : values)
        widest = std::max(widest, canvas.measure(fixed(value, tick_decimals(values)), type).width);
    auto const title = fmt::format("{}, {}", name, unit);
    double const length = std::min(canvas.measure(title, type).width, plot.height);
    canvas.turned(
        {plot.x - 0.5 * size - widest - 0.5 * title_room, plot.y + 0.5 * (plot.height + length)},
        std::numbers::pi / 2,
        plot.height,
        title,
        type);
    auto const times = round_ticks(panel.window.from_s,
                                   panel.window.to_s,
                                   std::max(2, static_cast<int>(plot.width / (5 * size))));
    for (double const time : times) {
        double const x = panel.x(time);
        canvas.line({x, plot.bottom()}, {x, plot.bottom() + 0.3 * size}, pen);
        if (!with_times) continue;
        auto words = fixed(time, tick_decimals(times));
        if (time == times.back()) words += " s";
        double const width = canvas.measure(words, type).width;
        double const left = std::min(x - width / 2, plot.right() + 1.2 * size - width);
        canvas.text({left, plot.bottom() + 0.45 * size, width, height}, words, type);
    }
}

struct KeyItem {
    std::string words;
    std::function<void(Point)> sign;  // drawn with its left middle at the point
    double sign_width{};
};

// What the strokes mean, in one row; then the valve events in words, on as many lines as `lines`.
double key_height(Canvas const& canvas, TraceFigure const& figure, double width, double size);

std::string events_in_words(TraceFigure const& figure) {
    std::vector<std::string> parts;
    for (auto const& event : figure.events)
        parts.push_back(fmt::format("{} s {}", shortest(event.at_s), event.action));
    return parts.empty() ? "" : "Valve events: " + joined(parts, "; ") + ".";
}

double key_height(Canvas const& canvas, TraceFigure const& figure, double width, double size) {
    Type const type{size, false, false, soft};
    double const row = 1.7 * size;
    auto const words = events_in_words(figure);
    return row + (words.empty() ? 0 : canvas.paragraph_height(width, words, type, 3) + 0.3 * size);
}

void draw_key(Canvas& canvas, TraceFigure const& figure, Box box, double size) {
    Type const type{size, false, false, soft};
    double const wide = 2.2 * size;
    std::vector<KeyItem> items;
    items.push_back({"signal",
                     [&](Point p) {
                         canvas.line(p, {p.x + wide, p.y}, {ink, 0.09 * size, {}});
                     },
                     wide});
    items.push_back(
        {"baseline",
         [&](Point p) {
             canvas.line(p, {p.x + wide, p.y}, {soft, 0.06 * size, {0.35 * size, 0.25 * size}});
         },
         wide});
    items.push_back({"area of a peak",
                     [&](Point p) {
                         canvas.fill(Box{p.x, p.y - 0.4 * size, wide / 2, 0.8 * size}, peak_tint);
                         canvas.fill(Box{p.x + wide / 2, p.y - 0.4 * size, wide / 2, 0.8 * size},
                                     peak_tint_other);
                     },
                     wide});
    auto const triangle = [&](bool open) {
        return [&canvas, size, open](Point p) {
            Panel key;
            key.plot = {p.x, p.y - size, size, 1.3 * size};
            key.window.to_s = 1;
            draw_event(canvas, key, 0.5, open, size);
        };
    };
    bool kicks = false;
    for (auto const& view : figure.detectors) kicks = kicks || !view.kicks.empty();
    if (!figure.events.empty()) items.push_back({"valve event", triangle(false), size});
    if (kicks) items.push_back({"kick seen in the signal", triangle(true), size});
    if (!figure.trace.gaps.empty())
        items.push_back(
            {"not recorded",
             [&](Point p) {
                 canvas.line(p, {p.x + wide, p.y}, {alarm, 0.09 * size, {0.1 * size, 0.3 * size}});
             },
             wide});
    double x = box.x;
    for (auto const& item : items) {
        auto const words = canvas.measure(item.words, type);
        double const needed = item.sign_width + 0.5 * size + words.width;
        if (x + needed > box.right()) break;
        item.sign({x, box.y + words.height / 2});
        canvas.text(
            {x + item.sign_width + 0.5 * size, box.y, words.width, words.height}, item.words, type);
        x += needed + 1.6 * size;
    }
    auto const words = events_in_words(figure);
    if (!words.empty())
        canvas.paragraph({box.x, box.y + 1.7 * size, box.width, box.height}, words, type, 3);
}

std::pair<double, double> signal_range(trace::Trace const& trace,
                                       DetectorView const& view,
                                       Window const& window) {
    auto const& signal = trace.signals[static_cast<std::size_t>(view.detector - 1)];
    double low = signal[window.first], high = low;
    for (auto i = window.first; i <= window.last; ++i) {
        low = std::min<double>(low, signal[i]);
        high = std::max<double>(high, signal[i]);
    }
    // A flat line is drawn in the middle of a plot, not magnified into noise of the last bit.
    double const span = std::max(high - low, 1e-6 * std::max(std::abs(low), std::abs(high)) + 1e-9);
    return {low - 0.09 * span, high + 0.02 * span};
}

}  // namespace

std::string peak_label(assay::NamedPeak const& named) {
    auto const& flags = named.peak.flags;
    std::vector<std::string> words;
    for (auto const& flag : flags.names())
        if (flag != "unexpected" && flag != "fitted") words.push_back(flag);
    auto const name =
        named.component
            ? std::string(gas::name(*named.component))
            : fmt::format("{}{} s", flags.unexpected ? "? " : "", fixed(named.peak.apex_s, 1));
    return words.empty() ? name : fmt::format("{} ({})", name, joined(words, ", "));
}

std::string trace_description(TraceFigure const& figure) {
    std::string out =
        figure.subtitle.empty() ? figure.title : figure.title + ", " + figure.subtitle;
    out += '\n';
    for (auto const& view : figure.detectors) {
        out += fmt::format("Detector {}: {} peaks.\n", view.detector, view.peaks.size());
        for (auto const& named : view.peaks) {
            auto const& p = named.peak;
            out += fmt::format("{}: apex {} s, area {:.6g} {} s, height {:.4g} {}.\n",
                               peak_label(named),
                               fixed(p.apex_s, 2),
                               p.area,
                               figure.trace.unit,
                               p.height,
                               figure.trace.unit);
        }
    }
    return out + events_in_words(figure);
}

void draw_trace(Canvas& canvas, Box box, TraceFigure const& figure, TraceStyle const& style) {
    double const size = style.type_size;
    Type const type{size, false, false, soft};
    double const line_height = canvas.measure("Ag", type).height;
    double top = box.y;
    if (!figure.title.empty()) {
        Type const bold{1.15 * size, true, false, ink};
        double const width = std::min(canvas.measure(figure.title, bold).width, box.width);
        canvas.text({box.x, top, box.width, line_height}, figure.title, bold);
        double const left = box.x + width + size;
        if (!figure.subtitle.empty() && box.right() - left > 6 * size)
            canvas.text(
                {left, top + 0.14 * size, box.right() - left, line_height}, figure.subtitle, type);
        top += 1.6 * line_height;
    }
    auto const window = window_of(figure);
    if (figure.detectors.empty() || window.last <= window.first) {
        canvas.text({box.x, top, box.width, line_height}, "No samples to draw.", type);
        return;
    }
    double const key = style.key ? key_height(canvas, figure, box.width, size) : 0;
    double const times = 0.45 * size + line_height;
    double const room = box.bottom() - top - key - times - (style.key ? 0.5 * size : 0);
    double const gap = 0.9 * size;
    auto const count = static_cast<double>(figure.detectors.size());
    double const panel_height = (room - gap * (count - 1)) / count;

    // The left margin holds the widest number of any panel and the turned axis title.
    double widest = 0;
    std::vector<std::pair<double, double>> ranges;
    for (auto const& view : figure.detectors) {
        ranges.push_back(signal_range(figure.trace, view, window));
        auto const ticks = round_ticks(ranges.back().first,
                                       ranges.back().second,
                                       std::max(2, static_cast<int>(panel_height / (2.6 * size))));
        for (double const tick : ticks)
            widest =
                std::max(widest, canvas.measure(fixed(tick, tick_decimals(ticks)), type).width);
    }
    double const left = box.x + widest + 0.5 * size + 1.6 * line_height;

    for (std::size_t i = 0; i < figure.detectors.size(); ++i) {
        auto const& view = figure.detectors[i];
        double longest = 0;
        for (auto const& named : view.peaks)
            longest = std::max(longest, canvas.measure(peak_label(named), type).width);
        double const band = std::min(longest * std::sin(slant) + 1.2 * size, 0.42 * panel_height);
        Panel panel;
        panel.window = window;
        std::tie(panel.low, panel.high) = ranges[i];
        panel.plot = {left, top + band, box.right() - left - 1.2 * size, panel_height - band};
        {
            auto const inside = canvas.clip(panel.plot);
            draw_peaks(canvas, panel, figure.trace, view, size);
            draw_signal(canvas, panel, figure.trace, view, size);
        }
        for (auto const& kick : view.kicks) draw_event(canvas, panel, kick.at_s, true, size);
        for (auto const& event : figure.events) draw_event(canvas, panel, event.at_s, false, size);
        draw_axes(canvas,
                  panel,
                  figure.trace.signals.size() > 1 ? fmt::format("detector {}", view.detector)
                                                  : std::string("signal"),
                  figure.trace.unit,
                  i + 1 == figure.detectors.size(),
                  size);
        draw_labels(canvas, panel, view, band - 0.4 * size, size);
        top += panel_height + gap;
    }
    if (style.key) draw_key(canvas, figure, {box.x, box.bottom() - key, box.width, key}, size);
}

}  // namespace gw::report
