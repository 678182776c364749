#include "assay/alignment.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "assay/name_paths.hpp"

namespace gw::assay {

namespace {

// What is believed before a run is seen (common practice, no source).
constexpr double moved_before = 0.1;      // that flow or oven moved, given that a name is missing
constexpr double stranger_before = 0.05;  // that this is a run of another kind
constexpr double usual_move = 0.05;       // standard deviation of the stretch about one
constexpr double least_stretch = 0.90, most_stretch = 1.11, step = 0.002;

constexpr double sure_of_move = 0.99, sure_of_name = 0.95;

std::vector<double> origins_of(std::vector<double> const& events) {
    std::vector<double> out{0.0};
    for (std::size_t i = 0; i < events.size(); ++i) {
        out.push_back(events[i]);
        out.push_back(2 * events[i]);
        for (std::size_t j = 0; j < i; ++j) out.push_back(events[i] - events[j]);
    }
    std::sort(out.begin(), out.end());
    out.erase(
        std::unique(
            out.begin(), out.end(), [](double a, double b) { return std::abs(a - b) < 0.05; }),
        out.end());
    out.push_back(std::numeric_limits<double>::infinity());  // "does not move"
    return out;
}

double place(double t, double origin, double stretch) {
    return origin > t ? t : origin + stretch * (t - origin);
}

// What an event turned back comes as long after it as it took to get there, whatever the flow.
std::vector<double> turned_back(std::vector<ExpectedPeak> const& expected,
                                std::vector<double> const& events) {
    std::vector<double> out;
    for (auto const& e : expected) {
        double nearest = NAN;
        for (double const at : events)
            if (double const off = std::abs(e.retention_s - 2 * at);
                at > 0 && off < 0.5 * e.window_s && !(off >= std::abs(e.retention_s - nearest)))
                nearest = 2 * at;
        out.push_back(nearest);
    }
    return out;
}

// A name whose peak stands off what the other names say, by more than they scatter, is taken back:
// an extra peak near where a missing one should be. Each is held against the line through the
// others of the run, time off against time.
void take_back_strays(std::vector<trace::Peak> const& peaks,
                      std::vector<ExpectedPeak> const& expected,
                      Alignment& found) {
    std::vector<std::size_t> named;
    for (std::size_t i = 0; i < peaks.size(); ++i)
        if (found.names[i]) named.push_back(i);
    auto const off = [&](std::size_t i) {
        return peaks[i].apex_s - found.retention_s[found.names[i]->expected];
    };
    std::vector<std::size_t> strays;
    for (std::size_t const i : named) {
        std::vector<double> others;
        for (std::size_t const k : named)
            if (k != i) others.push_back(std::abs(off(k)));
        if (others.size() < 4) continue;
        auto const middle = others.begin() + static_cast<std::ptrdiff_t>(others.size() / 2);
        std::nth_element(others.begin(), middle, others.end());
        double const allowed =
            std::max(0.08 * expected[found.names[i]->expected].window_s, 5 * 1.4826 * *middle);
        if (std::abs(off(i)) > allowed) strays.push_back(i);
    }
    for (std::size_t const i : strays) found.names[i].reset();
}

}  // namespace

std::optional<Alignment> align(std::vector<trace::Peak> const& peaks,
                               std::vector<ExpectedPeak> const& expected,
                               std::vector<double> const& events) {
    std::size_t const n = peaks.size(), m = expected.size();
    if (n < 3 || m < 3 || n + m > 160) return std::nullopt;
    auto const origins = origins_of(events);
    NamePaths paths(peaks, expected);
    auto const turned = turned_back(expected, events);
    std::vector<double> own(m);

    std::vector<double> posterior(n * m, 0.0), names(n * m);
    double moved = 0, best = 0;
    Alignment out;
    std::vector<double> times(m * origins.size());
    double prior_sum = 0;
    auto const about_one = [](double s) { return std::abs(s - 1) < 1.5 * step; };
    for (double s = least_stretch; s <= most_stretch; s += step)
        if (!about_one(s)) prior_sum += std::exp(-0.5 * std::pow((s - 1) / usual_move, 2));
    for (double s = least_stretch; s <= most_stretch; s += step) {
        if (about_one(s)) continue;  // that is where they were
        for (std::size_t e = 0; e < m; ++e)
            for (std::size_t o = 0; o < origins.size(); ++o)
                times[e * origins.size() + o] = place(expected[e].retention_s, origins[o], s);
        for (std::size_t e = 0; e < m; ++e)
            own[e] = turned[e] + s * (expected[e].retention_s - turned[e]);
        double const prior =
            moved_before * std::exp(-0.5 * std::pow((s - 1) / usual_move, 2)) / prior_sum;
        double const weight =
            prior * paths.sum(times, origins.size(), own, NamePaths::moved, names);
        moved += weight;
        for (std::size_t k = 0; k < n * m; ++k) posterior[k] += weight * names[k];
        if (weight > best) {
            best = weight, out.stretch = s;
            out.retention_s = paths.likeliest_times(times, origins.size(), own, names);
        }
    }
    std::vector<double> stated(m), still(n * m, 0.0);
    std::vector<double> const none(m, NAN);
    for (std::size_t e = 0; e < m; ++e) stated[e] = expected[e].retention_s;
    double as_stated = 0;
    for (auto const& spread : {NamePaths::stated, NamePaths::moved}) {
        double const weight =
            0.5 * (1 - moved_before - stranger_before) * paths.sum(stated, 1, none, spread, names);
        as_stated += weight;
        for (std::size_t k = 0; k < n * m; ++k) still[k] += weight * names[k];
    }
    double const all = moved + as_stated + stranger_before;
    out.confidence = moved / all;
    out.moved = out.confidence > sure_of_move;
    if (out.confidence < 0.5) return std::nullopt;
    out.names.resize(n);
    for (std::size_t i = 0; i < n; ++i)
        for (std::size_t e = 0; e < m; ++e) {
            double const either = out.moved ? 0 : still[i * m + e];
            if (double const p = (posterior[i * m + e] + either) / all; p > sure_of_name)
                out.names[i] = SureName{e, p};
        }
    if (out.moved) take_back_strays(peaks, expected, out);
    out.matched = static_cast<std::size_t>(std::count_if(
        out.names.begin(), out.names.end(), [](auto const& name) { return name.has_value(); }));
    if (out.moved && static_cast<double>(out.matched) < std::max(3.0, 0.6 * static_cast<double>(m)))
        return std::nullopt;
    return out;
}

}  // namespace gw::assay
