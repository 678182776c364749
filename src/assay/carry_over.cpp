#include "assay/carry_over.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace gw::assay {

namespace {

constexpr double too_broad = 4, like_theirs = 2.5;  // ratios of plates; common practice, no source
constexpr double largest_u = 0.02;

double plates(double t, double width_half_s) {
    return 8 * std::log(2.0) * (t / width_half_s) * (t / width_half_s);
}

bool whole(trace::Peak const& p) {
    auto const& f = p.flags;
    return !f.cut && !f.merged && !f.shoulder && !f.saturated && !f.gap && !f.negative &&
           p.width_half_s > 0 && p.apex_s > 0;
}

std::optional<double> usual_plates(RunAreas const& run, int detector) {
    std::vector<double> all;
    for (auto const& named : run.peaks)
        if (named.component && named.peak.detector == detector && whole(named.peak))
            all.push_back(plates(named.peak.apex_s, named.peak.width_half_s));
    if (all.size() < 3) return std::nullopt;
    std::sort(all.begin(), all.end());
    return all[all.size() / 2];
}

bool shows(RunAreas const& run, trace::Peak const& like) {
    return std::any_of(run.peaks.begin(), run.peaks.end(), [&](NamedPeak const& named) {
        auto const& p = named.peak;
        return !named.component && p.detector == like.detector &&
               std::abs(p.apex_s - like.apex_s) < 0.5 * like.width_half_s &&
               p.width_half_s > 0.5 * like.width_half_s;
    });
}

// What changes between this run and the next on the same gas, against what lay between the gases.
std::optional<Measured> old_share(RunAreas const& before,
                                  RunAreas const& run,
                                  RunAreas const& after) {
    double products = 0, squares = 0;
    struct Point {
        double change{}, distance{}, weight{};
    };
    std::vector<Point> points;
    for (auto const& now : run.areas) {
        auto const *old = before.find(now.component), *next = after.find(now.component);
        if (old == nullptr || next == nullptr) continue;
        double const u2 = now.u * now.u + next->u * next->u;
        if (!(u2 > 0)) continue;
        Point const p{now.area - next->area, old->area - next->area, 1 / u2};
        products += p.weight * p.change * p.distance;
        squares += p.weight * p.distance * p.distance;
        points.push_back(p);
    }
    if (points.size() < 3 || !(squares > 0)) return std::nullopt;
    double const share = products / squares;
    double chi = 0;
    for (auto const& p : points) chi += p.weight * std::pow(p.change - share * p.distance, 2);
    double const excess = std::max(1.0, chi / static_cast<double>(points.size() - 1));
    Measured const out{share, std::sqrt(excess / squares)};
    return out.u < largest_u ? std::optional(out) : std::nullopt;
}

}  // namespace

CarryOver carry_over(RunAreas const& before,
                     RunAreas const& run,
                     RunAreas const* after,
                     double cycle_s) {
    CarryOver out;
    for (std::size_t k = 0; k < run.peaks.size(); ++k) {
        auto const& p = run.peaks[k].peak;
        if (run.peaks[k].component || p.flags.cut || p.flags.negative || !(p.width_half_s > 0))
            continue;
        auto const usual = usual_plates(run, p.detector);
        double const own = plates(p.apex_s, p.width_half_s);
        if (!usual || own * too_broad > *usual) continue;
        // When a peak of this width would have been injected, had it the usual plates.
        double const retention = p.width_half_s * std::sqrt(*usual / (8 * std::log(2.0)));
        auto const runs =
            std::max(1, static_cast<int>(std::lround((retention - p.apex_s) / cycle_s)));
        double const then = plates(p.apex_s + runs * cycle_s, p.width_half_s);
        if (then > like_theirs * *usual || then * like_theirs < *usual) continue;
        out.late.push_back({k, runs, own, *usual, then, shows(before, p)});
    }
    double last = 0;
    for (auto const& named : before.peaks) last = std::max(last, named.peak.end_s);
    for (auto const& named : before.peaks) {
        auto const& p = named.peak;
        // Cut at the record's end, not at a valve event before it.
        if (p.cut && !p.cut->front && p.end_s == last && p.cut->at_s >= p.end_s - 1e-6)
            out.unfinished.push_back({p.detector, p.apex_s, p.cut->lost_percent, p.cut->u_percent});
    }
    if (after != nullptr) out.share = old_share(before, run, *after);
    return out;
}

std::vector<std::string> carry_over_notes(CarryOver const& found, RunAreas const& run) {
    std::vector<std::string> out;
    for (auto const& late : found.late) {
        auto const& p = run.peaks[late.peak].peak;
        out.push_back(fmt::format(
            "{}: the peak at {:.1f} s on detector {} is too broad for its time ({:.0f} plates, the "
            "others {:.0f}); injected {} before it would have {:.0f}{}.",
            run.source,
            p.apex_s,
            p.detector,
            late.plates,
            late.usual_plates,
            late.runs_before == 1 ? "one run" : fmt::format("{} runs", late.runs_before),
            late.plates_from_then,
            late.also_before ? "; the run before shows it too" : ""));
    }
    for (auto const& p : found.unfinished)
        out.push_back(fmt::format(
            "{}: the run before ends within its peak at {:.1f} s on detector {}; {} falls into "
            "this "
            "run.",
            run.source,
            p.apex_s,
            p.detector,
            p.percent ? fmt::format("about {:.2g} % of it (u {:.1g} %)", *p.percent, *p.u_percent)
                      : "the rest of it"));
    if (found.share && found.share->value > 3 * found.share->u)
        out.push_back(fmt::format(
            "{}: {:.2g} % of its sample (u {:.1g} %) is gas of the run before; purge longer.",
            run.source,
            100 * found.share->value,
            100 * found.share->u));
    return out;
}

}  // namespace gw::assay
