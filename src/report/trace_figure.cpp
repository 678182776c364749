#include "report/trace_figure.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/text.hpp"
#include "report/label_layout.hpp"
#include "report/palette.hpp"
#include "report/trace_panel.hpp"

namespace gw::report {

namespace {

constexpr double steep = std::numbers::pi / 3, flat = std::numbers::pi / 4.8;
constexpr double most_of_panel = 0.42;  // for the row of labels

struct KeyItem {
    std::string words;
    std::function<void(Point)> sign;  // drawn with its left middle at the point
    double sign_width{};
};

std::string events_in_words(TraceFigure const& figure) {
    std::vector<std::string> parts;
    for (auto const& event : figure.events)
        parts.push_back(fmt::format("{} s {}", shortest(event.at_s), event.action));
    return parts.empty() ? "" : "Valve events: " + joined(parts, "; ") + ".";
}

// What the strokes mean, in one row; then the valve events in words.
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
    auto const window = window_of(figure);
    for (auto const& view : figure.detectors)
        for (auto const& kick : view.kicks)
            kicks = kicks || (kick.at_s >= window.from_s && kick.at_s <= window.to_s);
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
                                       Window const& window,
                                       bool root) {
    auto const& signal = trace.signals[static_cast<std::size_t>(view.detector - 1)];
    double low = signal[window.first], high = low;
    for (auto i = window.first; i <= window.last; ++i) {
        low = std::min<double>(low, signal[i]);
        high = std::max<double>(high, signal[i]);
    }
    // A flat line is drawn in the middle of a plot, not magnified into noise of the last bit.
    double const span = std::max(high - low, 1e-6 * std::max(std::abs(low), std::abs(high)) + 1e-9);
    return {low - (root ? 0.002 : 0.09) * span, high + 0.02 * span};
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

    // How much of each panel the labels take, and how they lean: flatter where height is short. The
    // left margin holds the widest number of any panel and the turned axis title.
    struct Plan {
        double slant{};
        Panel panel;
    };
    std::vector<Plan> plans;
    double numbers = 0;
    for (auto const& view : figure.detectors) {
        Plan plan;
        double longest = 0;
        for (auto const& named : view.peaks)
            longest = std::max(longest, canvas.measure(peak_label(named), type).width);
        double const most = most_of_panel * panel_height;
        auto const needed = [&](double slant) { return longest * std::sin(slant) + 1.2 * size; };
        plan.slant = needed(steep) <= most ? steep : flat;
        auto& panel = plan.panel;
        panel.window = window;
        panel.root = style.square_root;
        panel.band = std::min(needed(plan.slant), most);
        std::tie(panel.low, panel.high) =
            signal_range(figure.trace, view, window, style.square_root);
        panel.plot.height = panel_height - panel.band;
        for (auto const& tick : signal_ticks(panel, size))
            numbers = std::max(numbers, canvas.measure(tick.words, type).width);
        plans.push_back(plan);
    }
    double const left = box.x + numbers + 0.5 * size + 1.6 * line_height;

    for (std::size_t i = 0; i < figure.detectors.size(); ++i) {
        auto const& view = figure.detectors[i];
        auto const& plan = plans[i];
        Panel panel = plan.panel;
        panel.plot = {
            left, top + panel.band, box.right() - left - 1.2 * size, panel_height - panel.band};
        {
            auto const inside = canvas.clip(panel.plot);
            draw_peaks(canvas, panel, figure.trace, view, size);
            draw_signal(canvas, panel, figure.trace, view, size);
        }
        for (auto const& kick : view.kicks) draw_event(canvas, panel, kick.at_s, true, size);
        for (auto const& event : figure.events) draw_event(canvas, panel, event.at_s, false, size);
        auto const name =
            figure.trace.signals.size() > 1
                ? fmt::format("detector {}, {}", view.detector, figure.trace.unit)
                : "signal, " + figure.trace.unit + (style.square_root ? ", root scale" : "");
        draw_axes(canvas, panel, name, numbers, i + 1 == figure.detectors.size(), size);
        draw_labels(canvas, panel, view, plan.slant, size);
        top += panel_height + gap;
    }
    if (style.key) draw_key(canvas, figure, {box.x, box.bottom() - key, box.width, key}, size);
}

}  // namespace gw::report
