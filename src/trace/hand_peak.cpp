#include "trace/hand_peak.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <span>
#include <vector>

#include "base/text.hpp"

namespace gw::trace {

namespace {

struct Point {
    double t{}, y{};  ///< y: above the baseline
};

double between(std::span<float const> y, double place) {
    auto const i = std::min(static_cast<std::size_t>(std::max(0.0, place)), y.size() - 1);
    if (i + 1 >= y.size()) return static_cast<double>(y.back());
    double const part = place - static_cast<double>(i);
    return (1 - part) * static_cast<double>(y[i]) + part * static_cast<double>(y[i + 1]);
}

/// Where the line from point `from` towards `to` passes `level`; `from` when it never does.
double crossing(std::vector<Point> const& points, std::size_t top, int step, double level) {
    auto i = static_cast<std::ptrdiff_t>(top);
    auto const n = static_cast<std::ptrdiff_t>(points.size());
    for (; i + step >= 0 && i + step < n; i += step) {
        auto const &a = points[static_cast<std::size_t>(i)],
                   &b = points[static_cast<std::size_t>(i + step)];
        if (b.y > level) continue;
        double const fall = a.y - b.y;
        return fall > 0 ? a.t + (b.t - a.t) * (a.y - level) / fall : b.t;
    }
    return points[static_cast<std::size_t>(i)].t;
}

/// Top of a parabola through three points, for a top between samples.
Point apex_of(std::vector<Point> const& p, std::size_t top) {
    if (top == 0 || top + 1 >= p.size()) return p[top];
    double const before = p[top].t - p[top - 1].t, after = p[top + 1].t - p[top].t;
    double const bend = p[top - 1].y - 2 * p[top].y + p[top + 1].y;
    if (!(bend < 0) || std::abs(before - after) > 1e-6 * before) return p[top];  // beside an end
    double const x = std::clamp(0.5 * (p[top - 1].y - p[top + 1].y) / bend, -0.5, 0.5);
    return {p[top].t + x * after, p[top].y - 0.25 * (p[top - 1].y - p[top + 1].y) * x};
}

Result<> require_level(std::optional<double> level,
                       std::span<float const> y,
                       std::string const& where) {
    if (!level) return {};
    auto const [low, high] = std::minmax_element(y.begin(), y.end());
    double const least = static_cast<double>(*low), most = static_cast<double>(*high),
                 room = most - least;
    if (std::isfinite(*level) && *level >= least - room && *level <= most + room) return {};
    return fail(Errc::out_of_range,
                "This baseline is far outside of the signal.",
                where,
                fmt::format("keep it between {} and {}", shortest(least), shortest(most)));
}

}  // namespace

Result<HandPeak> hand_peak(Trace const& trace,
                           int detector,
                           HandEnds const& ends,
                           DetectorPeaks const& found) {
    if (detector < 1 || static_cast<std::size_t>(detector) > trace.signals.size())
        return fail(Errc::not_found,
                    fmt::format("There is no detector {}.", detector),
                    "detector",
                    fmt::format("count from 1 to {}", trace.signals.size()));
    std::span<float const> const y = trace.signals[static_cast<std::size_t>(detector) - 1];
    double const dt = trace.interval_s;
    if (!(ends.start_s >= trace.start_s && ends.start_s <= trace.end_s()))
        return fail(
            Errc::out_of_range,
            "The peak starts outside of the trace.",
            "start_s",
            fmt::format(
                "keep it from {} to {} s", shortest(trace.start_s), shortest(trace.end_s())));
    if (!(ends.end_s >= trace.start_s && ends.end_s <= trace.end_s()))
        return fail(
            Errc::out_of_range,
            "The peak ends outside of the trace.",
            "end_s",
            fmt::format(
                "keep it from {} to {} s", shortest(trace.start_s), shortest(trace.end_s())));
    if (!(ends.end_s - ends.start_s >= 3 * dt))
        return fail(Errc::out_of_range,
                    "There are fewer than four samples between these ends.",
                    "end_s",
                    "put the end behind the start");
    GW_CHECK(require_level(ends.base_start, y, "base_start"));
    GW_CHECK(require_level(ends.base_end, y, "base_end"));

    auto const place = [&](double t) { return (t - trace.start_s) / dt; };
    auto const ground = [&](double t) {
        return found.baseline.size() == y.size() ? between(found.baseline, place(t))
                                                 : between(y, place(t));
    };
    HandPeak out;
    out.base_start = ends.base_start.value_or(ground(ends.start_s));
    out.base_end = ends.base_end.value_or(ground(ends.end_s));
    double const width = ends.end_s - ends.start_s;
    auto const above = [&](double t, double signal) {
        double const part = (t - ends.start_s) / width;
        return Point{t, signal - (1 - part) * out.base_start - part * out.base_end};
    };
    std::vector<Point> points{above(ends.start_s, between(y, place(ends.start_s)))};
    auto const first = static_cast<std::size_t>(std::floor(place(ends.start_s))) + 1;
    for (auto i = first; i < y.size() && trace.time(i) < ends.end_s; ++i)
        points.push_back(above(trace.time(i), static_cast<double>(y[i])));
    points.push_back(above(ends.end_s, between(y, place(ends.end_s))));

    auto& peak = out.peak;
    peak.detector = detector;
    peak.start_s = ends.start_s, peak.end_s = ends.end_s;
    for (std::size_t i = 1; i < points.size(); ++i)
        peak.area += 0.5 * (points[i].y + points[i - 1].y) * (points[i].t - points[i - 1].t);
    double const rms = found.noise.rms;
    // Each end of the line weighs half of the width; together sqrt(1/2).
    peak.area_u = rms * std::hypot(std::sqrt(width * dt), width * std::sqrt(0.5));
    peak.flags.negative = peak.area < 0;
    if (peak.area < 0)
        for (auto& p : points) p.y = -p.y;
    auto const top = static_cast<std::size_t>(
        std::max_element(points.begin(),
                         points.end(),
                         [](Point const& a, Point const& b) { return a.y < b.y; }) -
        points.begin());
    auto const apex = apex_of(points, top);
    peak.apex_s = apex.t;
    peak.height = peak.area < 0 ? -apex.y : apex.y;
    peak.width_half_s =
        crossing(points, top, 1, apex.y / 2) - crossing(points, top, -1, apex.y / 2);
    double const front = apex.t - crossing(points, top, -1, apex.y / 10),
                 back = crossing(points, top, 1, apex.y / 10) - apex.t;
    peak.asymmetry = front > 0 ? back / front : 1;
    return out;
}

}  // namespace gw::trace
