#include "report/trace_panel.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <span>

#include "base/text.hpp"
#include "report/label_layout.hpp"
#include "report/palette.hpp"

namespace gw::report {

namespace {

constexpr double columns_per_point = 5;
constexpr double straight_enough = 0.03;  // pt: a fifth of the thinnest stroke

// Douglas and Peucker: what lies on a straight line between two kept points is left out.
void keep_bends(std::span<Point const> points,
                std::size_t first,
                std::size_t last,
                std::vector<char>& kept) {
    std::vector<std::pair<std::size_t, std::size_t>> open{{first, last}};
    while (!open.empty()) {
        auto const [from, to] = open.back();
        open.pop_back();
        double const dx = points[to].x - points[from].x, dy = points[to].y - points[from].y;
        double const length = std::hypot(dx, dy);
        double furthest = straight_enough;
        std::size_t bend = from;
        for (auto n = from + 1; n < to; ++n) {
            double const x = points[n].x - points[from].x, y = points[n].y - points[from].y;
            double const away = length > 0 ? std::abs(x * dy - y * dx) / length : std::hypot(x, y);
            if (away > furthest) {
                furthest = away;
                bend = n;
            }
        }
        if (bend == from) continue;
        kept[bend] = 1;
        open.emplace_back(from, bend);
        open.emplace_back(bend, to);
    }
}

// As many points as the eye can tell apart: of each narrow column the first, lowest, highest and
// last sample, so that no spike is lost; of those the ones at which the line bends.
std::vector<Point> thinned(std::span<Point const> points) {
    std::vector<Point> columns;
    for (std::size_t i = 0; i < points.size();) {
        std::size_t end = i + 1;
        double const column = std::floor(points[i].x * columns_per_point);
        while (end < points.size() && std::floor(points[end].x * columns_per_point) == column)
            ++end;
        std::vector<std::size_t> keep{i, i, i, end - 1};
        for (std::size_t n = i; n < end; ++n) {
            if (points[n].y < points[keep[1]].y) keep[1] = n;
            if (points[n].y > points[keep[2]].y) keep[2] = n;
        }
        std::sort(keep.begin(), keep.end());
        keep.erase(std::unique(keep.begin(), keep.end()), keep.end());
        for (auto const n : keep) columns.push_back(points[n]);
        i = end;
    }
    if (columns.size() < 3) return columns;
    std::vector<char> kept(columns.size(), 0);
    kept.front() = kept.back() = 1;
    keep_bends(columns, 0, columns.size() - 1, kept);
    std::vector<Point> out;
    for (std::size_t i = 0; i < columns.size(); ++i)
        if (kept[i] != 0) out.push_back(columns[i]);
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

}  // namespace

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
        canvas.fill(shape, sheet);
        canvas.outline(shape, {accent, 0.07 * size, {}});
    } else {
        canvas.fill(shape, accent);
    }
}

void draw_labels(
    Canvas& canvas, Panel const& panel, DetectorView const& view, double slant, double size) {
    double const band = panel.band - 0.4 * size;
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

std::vector<SignalTick> signal_ticks(Panel const& panel, double size) {
    double const apart = 2.6 * size;
    std::vector<SignalTick> out;
    if (!panel.root) {
        auto const values = round_ticks(
            panel.low, panel.high, std::max(2, static_cast<int>(panel.plot.height / apart)));
        int const decimals = tick_decimals(values);
        for (double const value : values) out.push_back({value, fixed(value, decimals)});
        return out;
    }
    // From the top down by ones, twos and fives, as many as have room.
    double last = panel.plot.y - apart;
    for (int power = 9; power >= -9; --power)
        for (double const mantissa : {5.0, 2.0, 1.0}) {
            double const value = mantissa * std::pow(10.0, power);
            if (value > panel.high || value < panel.low) continue;
            double const y = panel.y(value);
            if (y - last < apart || panel.plot.bottom() - y < 0.3 * apart) continue;
            out.push_back({value, shortest(value)});
            last = y;
        }
    return out;
}

void draw_axes(Canvas& canvas,
               Panel const& panel,
               std::string const& title,
               double numbers,
               bool with_times,
               double size) {
    auto const& plot = panel.plot;
    Type const type{size, false, false, soft};
    Pen const pen{soft, 0.06 * size, {}};
    canvas.line({plot.x, plot.y}, {plot.x, plot.bottom()}, pen);
    canvas.line({plot.x, plot.bottom()}, {plot.right(), plot.bottom()}, pen);
    double const height = canvas.measure("0", type).height;
    double const title_room = 1.5 * height;
    for (auto const& tick : signal_ticks(panel, size)) {
        double const y = panel.y(tick.value);
        canvas.line({plot.x - 0.3 * size, y}, {plot.x, y}, pen);
        if (y - height / 2 < plot.y - 0.5 * height || y + height / 2 > plot.bottom() + 0.5 * height)
            continue;
        canvas.text({plot.x - 10 * size, y - height / 2, 9.5 * size, height},
                    tick.words,
                    type,
                    Align::right);
    }
    // Centred on the plot; a title longer than that goes on beside the row of labels.
    double const longest = plot.height + panel.band;
    double const length = std::min(canvas.measure(title, type).width, longest);
    canvas.turned({plot.x - 0.5 * size - numbers - 0.5 * title_room,
                   std::min(plot.y + 0.5 * (plot.height + length), plot.bottom())},
                  std::numbers::pi / 2,
                  longest,
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

}  // namespace gw::report
