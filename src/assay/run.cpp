#include "assay/run.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "assay/alignment.hpp"

namespace gw::assay {

ComponentArea const* RunAreas::find(gas::Component component) const {
    auto const at = std::find_if(areas.begin(), areas.end(), [&](ComponentArea const& a) {
        return a.component == component;
    });
    return at == areas.end() ? nullptr : &*at;
}

trace::PeakOptions peak_options(Method const& method) {
    trace::PeakOptions options;
    options.events = method.valve_programme;
    options.range_low = method.range_low;
    options.range_high = method.range_high;
    return options;
}

std::vector<std::optional<std::size_t>> assign(std::vector<trace::Peak> const& peaks,
                                               std::vector<ExpectedPeak> const& expected) {
    // Dynamic programming over (peaks seen, expected seen): take a pair, leave out a peak, or leave
    // out an expected one. To leave out costs more than any misfit inside a window; of two peaks in
    // one window a much larger one is worth a larger misfit.
    constexpr double missing = 3.0;
    double largest = 0;
    for (auto const& p : peaks) largest = std::max(largest, std::abs(p.height));
    std::size_t const n = peaks.size(), m = expected.size();
    std::vector<double> spurned(n);  // 0.05 for the faintest, 0.95 for the largest
    for (std::size_t i = 0; i < n; ++i) {
        double const share = largest > 0 ? std::abs(peaks[i].height) / largest : 0;
        spurned[i] = 0.05 + 0.15 * std::max(0.0, 6 + std::log10(std::max(share, 1e-6)));
    }
    std::vector<double> cost((n + 1) * (m + 1), std::numeric_limits<double>::infinity());
    std::vector<char> step((n + 1) * (m + 1), 0);
    auto const at = [&](std::size_t i, std::size_t j) { return i * (m + 1) + j; };
    cost[0] = 0;
    for (std::size_t i = 0; i <= n; ++i)
        for (std::size_t j = 0; j <= m; ++j) {
            auto const offer = [&](std::size_t from, double extra, char how) {
                if (cost[from] + extra < cost[at(i, j)])
                    cost[at(i, j)] = cost[from] + extra, step[at(i, j)] = how;
            };
            if (i > 0) offer(at(i - 1, j), spurned[i - 1], 'p');
            if (j > 0) offer(at(i, j - 1), missing, 'e');
            if (i > 0 && j > 0) {
                double const off =
                    (peaks[i - 1].apex_s - expected[j - 1].retention_s) / expected[j - 1].window_s;
                if (std::abs(off) <= 1) offer(at(i - 1, j - 1), off * off, 'm');
            }
        }
    std::vector<std::optional<std::size_t>> names(n);
    for (std::size_t i = n, j = m; i > 0 || j > 0;) {
        char const how = step[at(i, j)];
        if (how == 'm')
            names[--i] = --j;
        else if (how == 'p')
            --i;
        else
            --j;
    }
    return names;
}

namespace {

// A lumped peak (C6+, or one that includes others) may show several tops: those that touch it
// inside its window belong to it.
void gather_lump(std::vector<trace::Peak> const& peaks,
                 std::vector<std::optional<std::size_t>>& names,
                 std::vector<ExpectedPeak> const& expected) {
    for (std::size_t k = 0; k < peaks.size(); ++k) {
        if (!names[k]) continue;
        auto const& e = expected[*names[k]];
        if (e.includes.empty() && e.component != gas::c6_plus) continue;
        auto const takes = [&](std::size_t from, std::size_t to) {
            double const gap = peaks[std::max(from, to)].start_s - peaks[std::min(from, to)].end_s;
            return !names[to] && std::abs(peaks[to].apex_s - e.retention_s) <= e.window_s &&
                   gap < 0.5 * peaks[k].width_half_s;
        };
        auto const name = names[k];
        for (std::size_t j = k; j > 0 && takes(j, j - 1); --j) names[j - 1] = name;
        for (std::size_t j = k; j + 1 < peaks.size() && takes(j, j + 1); ++j) names[j + 1] = name;
    }
}

// The times as stated name every expected peak in the common case; only where one is missing is it
// asked whether all have moved together. Where the others are all there and well inside their
// windows, and nothing stands beside them, nothing has moved: that one is absent.
std::optional<Alignment> moved_times(std::vector<trace::Peak> const& peaks,
                                     std::vector<std::optional<std::size_t>> const& names,
                                     std::vector<ExpectedPeak> const& expected,
                                     Method const& method) {
    std::size_t named = 0, well = 0;
    for (std::size_t k = 0; k < peaks.size(); ++k) {
        if (!names[k]) continue;
        ++named;
        auto const& e = expected[*names[k]];
        well += std::abs(peaks[k].apex_s - e.retention_s) < 0.5 * e.window_s ? 1 : 0;
    }
    if (named == expected.size()) return std::nullopt;
    if (named == peaks.size() && well == named) return std::nullopt;
    std::vector<double> events;
    for (auto const& event : method.valve_programme) events.push_back(event.at_s);
    return align(peaks, expected, events);
}

}  // namespace

RunAreas run_areas(trace::Trace const& trace, Method const& method) {
    return run_areas(trace, method, trace::find_peaks);
}

RunAreas run_areas(trace::Trace const& trace, Method const& method, PeakFinder const& finder) {
    RunAreas out;
    out.source = trace.source;
    out.hash = trace.hash;
    out.warnings = trace.warnings;
    auto const options = peak_options(method);
    std::vector<std::pair<std::size_t, ComponentArea>> found;  // with the place in the method
    for (int detector = 1; detector <= static_cast<int>(trace.signals.size()); ++detector) {
        auto const result = finder(trace, detector, options);
        out.noise.push_back(result.noise);
        out.steps.insert(out.steps.end(), result.steps.begin(), result.steps.end());
        std::vector<ExpectedPeak> expected;
        for (auto const& e : method.peaks)
            if (e.detector == detector) expected.push_back(e);
        std::stable_sort(expected.begin(), expected.end(), [](auto const& a, auto const& b) {
            return a.retention_s < b.retention_s;
        });
        auto names = assign(result.peaks, expected);
        std::vector<std::optional<double>> confidence(names.size());
        if (auto const moved = moved_times(result.peaks, names, expected, method)) {
            for (std::size_t e = 0; e < expected.size() && moved->moved; ++e)
                expected[e].retention_s = moved->retention_s[e];
            for (std::size_t k = 0; k < names.size(); ++k) {
                names[k].reset();
                if (!moved->names[k]) continue;
                names[k] = moved->names[k]->expected;
                confidence[k] = moved->names[k]->confidence;
            }
            out.warnings.push_back(
                moved->moved
                    ? fmt::format("{}: detector {} is named with times {:.1f} % {} than the "
                                  "method's, where {} of {} peaks have a sure name; look at flow "
                                  "and oven, then correct the method.",
                                  out.source,
                                  detector,
                                  std::abs(100 * (moved->stretch - 1)),
                                  moved->stretch > 1 ? "longer" : "shorter",
                                  moved->matched,
                                  expected.size())
                    : fmt::format("{}: the times of detector {} may have moved by {:.1f} %; names "
                                  "that hang on it are left out. Look at flow and oven.",
                                  out.source,
                                  detector,
                                  100 * (moved->stretch - 1)));
        }
        gather_lump(result.peaks, names, expected);
        for (std::size_t e = 0; e < expected.size(); ++e) {
            ComponentArea sum{expected[e].component};
            double height = 0;
            for (std::size_t k = 0; k < names.size(); ++k) {
                if (names[k] != e) continue;
                auto const& p = result.peaks[k];
                sum.area += p.area;
                sum.u = std::hypot(sum.u, p.area_u);
                sum.detector = detector;
                if (std::abs(p.height) > height)
                    height = std::abs(p.height), sum.retention_s = p.apex_s;
            }
            auto const place =
                static_cast<std::size_t>(method.find(expected[e].component) - method.peaks.data());
            if (height > 0) {
                found.emplace_back(place, sum);
            } else {
                out.warnings.push_back(
                    fmt::format("{}: no peak of {} within {} s of {} s on detector {}.",
                                out.source,
                                gas::name(expected[e].component),
                                expected[e].window_s,
                                expected[e].retention_s,
                                detector));
            }
        }
        for (std::size_t k = 0; k < names.size(); ++k) {
            NamedPeak named{result.peaks[k], std::nullopt, confidence[k]};
            if (names[k]) named.component = expected[*names[k]].component;
            named.peak.flags.unexpected = !names[k];
            out.peaks.push_back(named);
        }
    }
    for (int detector = static_cast<int>(trace.signals.size()) + 1; detector <= method.detectors();
         ++detector)
        out.warnings.push_back(fmt::format(
            "{}: the method expects peaks on detector {}, but the trace has {} signal{}.",
            out.source,
            detector,
            trace.signals.size(),
            trace.signals.size() == 1 ? "" : "s"));
    std::sort(
        found.begin(), found.end(), [](auto const& a, auto const& b) { return a.first < b.first; });
    for (auto const& [place, area] : found) out.areas.push_back(area);
    return out;
}

Result<RunAreas> run_areas(trace::ReportTable const& report, Method const& method) {
    RunAreas out;
    out.source = report.source;
    out.hash = report.hash;
    out.warnings = report.warnings;
    bool any = false;
    for (auto const& row : report.rows) any = any || row.area.has_value();
    if (!any)
        return fail(Errc::bad_input,
                    "The report states no area.",
                    report.source,
                    "add a column named area, or give the trace");
    for (auto const& expected : method.peaks) {
        auto const row = std::find_if(report.rows.begin(), report.rows.end(), [&](auto const& r) {
            return r.component == expected.component;
        });
        if (row == report.rows.end() || !row->area) {
            out.warnings.push_back(
                fmt::format("{}: no area of {}.", out.source, gas::name(expected.component)));
            continue;
        }
        ComponentArea area{expected.component, *row->area};
        area.retention_s = row->retention_s.value_or(0);
        area.detector = expected.detector;
        area.printed_factor = row->factor.value_or(0);
        out.areas.push_back(area);
    }
    for (auto const& row : report.rows)
        if (row.area && method.find(row.component) == nullptr)
            out.warnings.push_back(
                fmt::format("{}: the method has no peak for {}; its area is left out.",
                            out.source,
                            gas::name(row.component)));
    return out;
}

}  // namespace gw::assay
