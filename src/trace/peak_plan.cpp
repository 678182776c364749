#include "trace/peak_plan.hpp"

#include <numbers>
#include <numeric>

namespace gw::trace {

Roughness roughness(std::span<float const> y, std::vector<FreeGround::Blocks> const& free) {
    Roughness out;
    // The last block of each stretch reaches into the next: it goes without.
    for (auto const& stretch : free) {
        auto const part = roughness(y, stretch.first, stretch.last - 1);
        out.total += part.total, out.most = std::max(out.most, part.most);
    }
    return out;
}

double slow_part(FreeGround const& ground,
                 std::span<float const> above,
                 double interval_s,
                 double fast) {
    auto const two =
        std::max<std::size_t>(1, static_cast<std::size_t>(2 / (plan_block * interval_s)));
    double squares = 0, stretches = 0;
    for (auto const& free : ground.free)
        for (std::size_t i = free.first; i + two <= free.last; i += two) {
            double sum = 0;
            for (std::size_t b = i; b < i + two; ++b) sum += static_cast<double>(above[b]);
            squares += sum * sum / (fast * fast * static_cast<double>(two * plan_block));
            stretches += 1;
        }
    return stretches < 6 ? 1 : std::max(1.0, squares / stretches);
}

namespace {

// Down to here the shapes of one run, each as large as the next run makes it, are as near the truth
// as a fit of their own would be; equal peaks closer than that have no clear valley.
constexpr double least_resolution = 1.0;

char const* not_simple(Trace const& trace, DetectorPeaks const& found, Settled const& s) {
    if (!(s.fast > 0)) return "nothing was settled";
    if (!trace.gaps.empty()) return "a gap";
    if (found.peaks.empty() || found.peaks.size() != s.regions.peaks.size()) return "no peak";

    for (std::size_t k = 0; k < found.peaks.size(); ++k) {
        auto const& p = found.peaks[k];
        auto const& f = p.flags;
        bool const shared = s.shapes[k].cluster_first != s.shapes[k].cluster_last;
        if (f.cut || f.saturated || f.negative || f.gap || f.rider ||
            (!shared && (f.merged || f.shoulder)))
            return "a peak that is not alone and whole";
        if (p.height < 8 * s.regions.rms) return "a peak hardly above the noise";
        if (!s.regions.peaks[k].joined_after) continue;
        for (std::size_t const j : {k, k + 1})
            if (j >= found.peaks.size() || !s.shapes[j].shape) return "a cluster without shapes";
    }
    return nullptr;
}

// A cluster of which two peaks meet at a resolution below one is fitted anew in every run.
bool is_overlapped(DetectorPeaks const& found, SharedShape const& shared) {
    for (std::size_t j = shared.cluster_first; j < shared.cluster_last; ++j) {
        auto const& p = found.peaks[j];
        if (p.flags.merged || p.flags.shoulder) return true;
        if (j + 1 < shared.cluster_last && p.resolution_next &&
            *p.resolution_next < least_resolution)
            return true;
    }
    return false;
}

// The window with its margins, and what is made of them.
std::span<double const> keep_shape(PlannedPeak& p,
                                   std::vector<double> const& above,
                                   double half_width,
                                   double rms) {
    std::size_t const margin =
        std::min<std::size_t>({p.to - p.from, p.from, above.size() - p.to, 64});
    p.origin = p.from - margin;
    auto const shape = std::span(above).subspan(p.origin, p.to - p.from + 2 * margin);
    double const top = p.top - static_cast<double>(p.origin);
    // It is read as far to either side as a peak may shift, and a block and the four taps on.
    auto const room = static_cast<std::size_t>(most_shift * half_width) + 2 * plan_block;
    p.sums = sums_of(shape, room);
    p.wider = widening(shape, top, half_width, room);
    p.rows = fit_rows(shape,
                      p.core_from - p.origin,
                      p.core_to - p.origin,
                      top,
                      half_width,
                      std::numbers::sqrt2 * rms,
                      p.peak.height > 30 * rms);
    return shape;
}

// What the careful search gave and took between the neighbours of a cluster, each part on its own:
// in the next run every one is as large as the peak it is of.
void keep_spills(PlannedPeak& p,
                 std::size_t k,
                 Settled const& s,
                 Trace const& trace,
                 std::size_t samples,
                 double half_width) {
    auto const& own = s.shapes[k];
    if (own.cluster_first == own.cluster_last) return;
    double const dt = trace.interval_s;
    // Rectangle sums count sample i for [i - 1/2, i + 1/2).
    auto const border = [&](std::size_t i) { return trace.time(i) - 0.5 * dt; };
    double const left = border(p.first), right = border(p.last);
    for (std::size_t j = own.cluster_first; j < own.cluster_last; ++j) {
        auto const& shape = s.shapes[j].shape;
        if (j == k || !shape) continue;
        std::vector<double> spilled(samples);
        for (std::size_t i = 0; i < samples; ++i)
            spilled[i] = value(*shape, trace.time(p.origin + i));
        auto const room = static_cast<std::size_t>(most_shift * half_width) + 2 * plan_block;
        p.spills.push_back({j,
                            area_before(*shape, right) - area_before(*shape, left),
                            value(*shape, left),
                            value(*shape, right),
                            sums_of(spilled, room),
                            products_with(p.rows, spilled, p.core_from - p.origin)});
    }
    if (!own.shape) return;
    if (k > own.cluster_first)
        p.left = value(*own.shape, left), p.beyond += area_before(*own.shape, left);
    if (k + 1 < own.cluster_last)
        p.right = value(*own.shape, right),
        p.beyond += own.shape->area - area_before(*own.shape, right);
}

// Half widths within which two peaks that do not meet may meet in another run.
constexpr double near_by = 0.8;

// The first peak of a group brings it. Shapes are guessed where the careful search fitted none.
void keep_group(
    PeakPlan& plan, PlannedPeak& p, DetectorPeaks const& found, Settled const& s, std::size_t k) {
    auto const& own = s.shapes[k];
    p.u_noise = own.u_noise, p.u_shape = own.u_shape;
    auto const room = static_cast<std::size_t>(near_by * p.peak.width_half_s / plan.interval_s);
    bool const joins =
        !plan.groups.empty() && (p.joined_before || p.first < plan.peaks.back().last + room);
    if (!joins) {
        auto& g = plan.groups.emplace_back();
        g.first_peak = k, g.from = p.from;
    }
    p.group = plan.groups.size() - 1;
    auto& g = plan.groups.back();
    g.last_peak = k + 1, g.to = p.to;
    g.widest_s = std::max(g.widest_s, p.peak.width_half_s);
    bool const shared = own.cluster_first != own.cluster_last;
    g.overlapped = g.overlapped || (shared && is_overlapped(found, own));
    if (own.shape) {
        g.shapes.push_back(*own.shape);
    } else {
        double const sigma = 0.85 * p.peak.width_half_s / half_width_of_sigma, tau = 0.35 * sigma;
        g.shapes.push_back({p.peak.area, p.peak.apex_s - 0.3 * tau, sigma, tau});
    }
}

// The shapes of a group as it stands, for fitting them again.
void tell_shapes(PlannedGroup& g,
                 PeakPlan const& plan,
                 Settled const& s,
                 PeakOptions const& options) {
    GroupSignal const signal{
        std::span<double const>(s.regions.above).subspan(g.from, g.to - g.from),
        {},
        plan.start_s + static_cast<double>(g.from) * plan.interval_s,
        plan.interval_s,
        plan.fast,
        plan.rms,
        plan.grain,
        options};
    auto const fit = fit_group(g.shapes, signal);
    g.shapes = fit.peaks, g.excess = fit.excess();
    for (auto const& shape : g.shapes) g.area += shape.area;
    if (!fit.converged) g.shapes.clear();
}

// A group is searched half way to its neighbours, not further than four of its widths, and not into
// what a valve left.
void give_room(PeakPlan& plan) {
    std::size_t before = 0;
    for (std::size_t i = 0; i < plan.groups.size(); ++i) {
        auto& g = plan.groups[i];
        std::size_t const after =
                              i + 1 < plan.groups.size() ? plan.groups[i + 1].from : plan.samples,
                          most = static_cast<std::size_t>(4 * g.widest_s / plan.interval_s);
        g.low = std::max(g.from - (g.from - std::min(before, g.from)) / 2,
                         g.from - std::min(most, g.from));
        g.high = std::min(g.to + (std::max(after, g.to) - g.to) / 2, g.to + most);
        for (auto const& d : plan.disturbed) {
            if (d.last * plan_block <= g.from) g.low = std::max(g.low, d.last * plan_block);
            if (d.first * plan_block >= g.to) g.high = std::min(g.high, d.first * plan_block);
        }
        before = g.to;
    }
}

// Slow noise makes sums scatter by more than white noise does, and the background takes a part of
// it: how much is left is read where nothing stands.
void keep_sums(FreeGround& f, PeakPlan const& plan, std::span<float const> raw) {
    std::vector<float> sums(raw.size() / plan_block + blocks_behind);
    block_sums(raw, plan.from, sums.data());
    LaidGround laid;
    f.ground.lay(sums, laid);
    f.slow = slow_part(f, laid.above, plan.interval_s, plan.fast);
    for (std::size_t k = 0, width = 1; k < f.sums.size() && width < sums.size(); ++k, width *= 2) {
        double squares = 0, count = 0;
        for (auto const& stretch : f.free)
            for (std::size_t b = stretch.first; b + width <= stretch.last; b += width) {
                auto const first = laid.above.begin() + static_cast<std::ptrdiff_t>(b);
                double const sum =
                    std::accumulate(first, first + static_cast<std::ptrdiff_t>(width), 0.0);
                squares += sum * sum, count += 1;
            }
        if (count > 0) f.sums[k] = std::sqrt(squares / count) * (1 + 1.5 / std::sqrt(count));
    }
}

// False where hardly anything is free.
bool lay_free(FreeGround& f,
              PeakPlan const& plan,
              std::span<float const> raw,
              double stiffness_s,
              std::vector<std::uint8_t> const& free,
              std::vector<std::size_t> const& step_blocks) {
    for (std::size_t b = 0; b < free.size(); ++b) {
        if (free[b] == 0) continue;
        if (f.free.empty() || f.free.back().last != b) f.free.push_back({b, b});
        f.free.back().last = b + 1;
    }
    for (auto const& stretch : f.free)
        f.rough_samples += static_cast<double>((stretch.last - stretch.first - 1) * plan_block);
    if (f.rough_samples < 0.1 * static_cast<double>(raw.size())) return false;
    f.roughness = roughness(raw, f.free).total / f.rough_samples;
    f.ground = PlanGround(raw.size(), plan.interval_s, stiffness_s, free, step_blocks);
    keep_sums(f, plan, raw);
    return true;
}

}  // namespace

std::optional<PeakPlan> peak_plan(Trace const& trace,
                                  int detector,
                                  PeakOptions const& options,
                                  DetectorPeaks const& found,
                                  Settled const& s,
                                  std::string& reason) {
    if (auto const* why = not_simple(trace, found, s)) {
        reason = why;
        return std::nullopt;
    }
    auto const& raw = trace.signals[static_cast<std::size_t>(detector - 1)];
    std::size_t const n = raw.size(), blocks = n / plan_block;
    double const dt = trace.interval_s;
    PeakPlan plan;
    plan.samples = n, plan.interval_s = dt, plan.start_s = trace.start_s;
    plan.fast = s.fast, plan.grain = s.grain, plan.rms = s.regions.rms,
    plan.slow = s.regions.slow_scatter;
    plan.noise = found.noise, plan.kicks = found.kicks, plan.steps = found.steps;
    std::vector<std::uint8_t> free(blocks, 1), disturbed(blocks, 0);
    auto const occupy = [&](std::size_t from, std::size_t to) {
        for (std::size_t b = from / plan_block; b * plan_block < to && b < blocks; ++b) free[b] = 0;
    };
    auto const& regions = s.regions.peaks;
    for (std::size_t k = 0; k < regions.size(); ++k) {
        auto const& r = regions[k];
        PlannedPeak p;
        p.peak = found.peaks[k];
        p.first = r.first, p.last = std::min(r.last, n);
        p.joined_before = r.joined_before, p.joined_after = r.joined_after;
        auto const room =
            std::max<std::size_t>(4, static_cast<std::size_t>(0.4 * p.peak.width_half_s / dt));
        p.from = r.joined_before ? r.first : std::max(r.first, room) - room;
        p.to = r.joined_after ? p.last : std::min(p.last + room, n);
        if (k > 0 && !r.joined_before) p.from = std::max(p.from, plan.peaks.back().to);
        p.top = (p.peak.apex_s - trace.start_s) / dt;
        keep_group(plan, p, found, s, k);
        if (p.from < 16 || p.to + 16 > n) {
            reason = "a peak at an end of the record";
            return std::nullopt;
        }
        double const part = 0.05 * p.peak.height;
        p.core_from = p.core_to = r.top;
        while (p.core_from > p.from && s.regions.above[p.core_from - 1] > part) --p.core_from;
        while (p.core_to < p.to && s.regions.above[p.core_to] > part) ++p.core_to;
        double const half_width = p.peak.width_half_s / dt;
        auto const shape = keep_shape(p, s.regions.above, half_width, s.regions.rms);
        if (p.rows.tell_nothing && !plan.groups.back().overlapped) {
            reason = "a peak whose shape does not tell its place";
            return std::nullopt;
        }
        keep_spills(p, k, s, trace, shape.size(), half_width);
        occupy(p.from, p.to);
        plan.peaks.push_back(std::move(p));
    }
    auto const mean_of = [&](std::size_t block) {
        auto const* v = raw.data() + block * plan_block;
        return std::accumulate(v, v + plan_block, 0.0) / plan_block;
    };
    std::vector<std::size_t> step_blocks;
    double stepped = 0;  // what the steps so far add to the level as recorded
    for (auto const& d : s.disturbances) {
        auto const from = static_cast<std::size_t>(
            std::clamp((d.at_s - 0.2 - trace.start_s) / dt, 0.0, static_cast<double>(n - 1)));
        auto const to = static_cast<std::size_t>(
            std::clamp((d.end_s + 0.2 - trace.start_s) / dt + 1, 0.0, static_cast<double>(n)));
        for (auto const& p : plan.peaks)
            if (from < p.to && to > p.from) {
                reason = "a kick under a peak";
                return std::nullopt;
            }
        occupy(from, to);
        for (std::size_t b = from / plan_block; b * plan_block < to && b < blocks; ++b)
            disturbed[b] = 1;
        if (d.step != 0) {
            // The blocks of the event itself are taken out; behind them the level has stepped.
            std::size_t const behind = std::min((to - 1) / plan_block + 1, blocks);
            step_blocks.push_back(behind);
            plan.fitted_steps.push_back(static_cast<std::size_t>(&d - s.disturbances.data()));
            stepped += d.step;
        }
        PeakPlan::Disturbed held{{from / plan_block, std::min((to - 1) / plan_block + 1, blocks)},
                                 0};
        for (std::size_t b = held.first; b < held.last; ++b)
            held.most = std::max(
                held.most,
                std::abs(mean_of(b) - s.regions.ground.level[b * plan_block + plan_block / 2] -
                         stepped));
        plan.disturbed.push_back(held);
    }
    for (auto& g : plan.groups) tell_shapes(g, plan, s, options);
    give_room(plan);
    plan.from = static_cast<float>(s.regions.ground.level[n / 2]);
    double const stiffness_s = s.regions.ground.stiffness_s;
    if (!lay_free(plan.roomy, plan, raw, stiffness_s, free, step_blocks)) {
        reason = "hardly any background";
        return std::nullopt;
    }
    // As free as in the careful search, but for what valves disturb.
    for (std::size_t b = 0; b < blocks; ++b) {
        auto const first = s.regions.free.begin() + static_cast<std::ptrdiff_t>(b * plan_block);
        free[b] = !disturbed[b] && std::all_of(first, first + plan_block, [](bool f) { return f; });
    }
    if (!lay_free(plan.close, plan, raw, stiffness_s, free, step_blocks)) plan.close = {};
    return plan;
}

}  // namespace gw::trace
