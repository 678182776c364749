#include "trace/peak_plan.hpp"

#include "base/wide.hpp"

namespace gw::trace {

namespace {

GW_WIDE void sums_of(float const* __restrict y, std::size_t blocks, double* __restrict sum) {
    for (std::size_t b = 0; b < blocks; ++b) {
        float const* v = y + b * plan_block;
        std::array<double, 4> pair{};
        for (std::size_t i = 0; i < 4; ++i)
            pair[i] = static_cast<double>(v[i]) + static_cast<double>(v[i + 4]);
        sum[b] = (pair[0] + pair[2]) + (pair[1] + pair[3]);
    }
}

// Third differences need three samples beyond the block: the last block goes without.
GW_WIDE void roughness_of(float const* __restrict y, std::size_t blocks, double* __restrict rough) {
    for (std::size_t b = 0; b < blocks; ++b) {
        float const* v = y + b * plan_block;
        std::array<float, plan_block> d{};
        for (std::size_t i = 0; i < plan_block; ++i) {
            float const third = (v[i + 3] - v[i]) - 3.0F * (v[i + 2] - v[i + 1]);
            d[i] = third * third;
        }
        rough[b] =
            static_cast<double>(((d[0] + d[4]) + (d[2] + d[6])) + ((d[1] + d[5]) + (d[3] + d[7])));
    }
}

}  // namespace

void block_sums(std::span<float const> y, BlockSums& out) {
    std::size_t const blocks = y.size() / plan_block;
    out.sum.resize(blocks), out.roughness.resize(blocks);
    sums_of(y.data(), blocks, out.sum.data());
    std::size_t const whole = (y.size() - 3) / plan_block;
    roughness_of(y.data(), std::min(whole, blocks), out.roughness.data());
    for (std::size_t b = whole; b < blocks; ++b) out.roughness[b] = out.roughness[b - 1];
}

namespace {

// Down to here the shapes of one run, each as large as the next run makes it, are as near the truth
// as a fit of their own would be; equal peaks closer than that have no clear valley.
constexpr double least_resolution = 1.0;

char const* not_simple(Trace const& trace, DetectorPeaks const& found, Settled const& s) {
    if (!(s.fast > 0)) return "nothing was settled";
    if (!trace.gaps.empty()) return "a gap";
    if (found.peaks.empty() || found.peaks.size() != s.regions.peaks.size()) return "no peak";
    if (s.regions.slow_scatter > 2.5) return "a background that wanders";
    for (std::size_t k = 0; k < found.peaks.size(); ++k) {
        auto const& p = found.peaks[k];
        auto const& f = p.flags;
        if (f.cut || f.merged || f.shoulder || f.saturated || f.negative || f.gap || f.rider)
            return "a peak that is not alone and whole";
        if (p.height < 8 * s.regions.rms) return "a peak hardly above the noise";
        if (!s.regions.peaks[k].joined_after) continue;
        if (p.resolution_next && *p.resolution_next < least_resolution)
            return "a resolution below 1";
        for (std::size_t const j : {k, k + 1})
            if (j >= found.peaks.size() || !s.shapes[j].shape) return "a cluster without shapes";
    }
    return nullptr;
}

void keep_shape(PlannedPeak& p, std::vector<double> const& above) {
    p.margin = std::min<std::size_t>({p.to - p.from, p.from, above.size() - p.to, 64});
    p.shape.assign(above.begin() + static_cast<std::ptrdiff_t>(p.from - p.margin),
                   above.begin() + static_cast<std::ptrdiff_t>(p.to + p.margin));
    p.whole.assign(1, 0.0);
    for (double const v : p.shape) p.whole.push_back(p.whole.back() + v);
}

// What the careful search gave and took between the neighbours of a cluster, each part on its own:
// in the next run every one is as large as the peak it is of.
void keep_spills(PlannedPeak& p, std::size_t k, Settled const& s, Trace const& trace) {
    auto const& own = s.shapes[k];
    p.u_noise = own.u_noise, p.u_shape = own.u_shape;
    if (own.cluster_first == own.cluster_last) return;
    double const dt = trace.interval_s;
    // Rectangle sums count sample i for [i - 1/2, i + 1/2).
    auto const border = [&](std::size_t i) { return trace.time(i) - 0.5 * dt; };
    double const left = border(p.first), right = border(p.last);
    for (std::size_t j = own.cluster_first; j < own.cluster_last; ++j) {
        auto const& shape = s.shapes[j].shape;
        if (j == k || !shape) continue;
        Spill spill{j, area_before(*shape, right) - area_before(*shape, left), {0.0}};
        for (std::size_t i = p.from - p.margin; i < p.to + p.margin; ++i)
            spill.whole.push_back(spill.whole.back() + value(*shape, trace.time(i)));
        p.spills.push_back(std::move(spill));
    }
    if (!own.shape) return;
    if (k > own.cluster_first) p.beyond += area_before(*own.shape, left);
    if (k + 1 < own.cluster_last) p.beyond += own.shape->area - area_before(*own.shape, right);
}

}  // namespace

std::optional<PeakPlan> peak_plan(Trace const& trace,
                                  int detector,
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
    plan.fast = s.fast, plan.rms = s.regions.rms, plan.slow = s.regions.slow_scatter;
    plan.noise = found.noise, plan.kicks = found.kicks, plan.steps = found.steps;
    plan.free_blocks.assign(blocks, 1);
    auto const occupy = [&](std::size_t from, std::size_t to, std::uint8_t by) {
        for (std::size_t b = from / plan_block; b * plan_block < to && b < blocks; ++b)
            plan.free_blocks[b] = by;
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
        if (p.from < 16 || p.to + 16 > n) {
            reason = "a peak at an end of the record";
            return std::nullopt;
        }
        p.top = (p.peak.apex_s - trace.start_s) / dt;
        double const part = 0.05 * p.peak.height;
        p.core_from = p.core_to = r.top;
        while (p.core_from > p.from && s.regions.above[p.core_from - 1] > part) --p.core_from;
        while (p.core_to < p.to && s.regions.above[p.core_to] > part) ++p.core_to;
        keep_shape(p, s.regions.above);
        keep_spills(p, k, s, trace);
        occupy(p.from, p.to, 0);
        plan.peaks.push_back(std::move(p));
    }
    BlockSums sums;
    block_sums(raw, sums);
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
        occupy(from, to, 0);
        if (d.step != 0) {
            // The blocks of the event itself are taken out; behind them the level has stepped.
            std::size_t const behind = std::min((to - 1) / plan_block + 1, blocks);
            step_blocks.push_back(behind);
            plan.fitted_steps.push_back(static_cast<std::size_t>(&d - s.disturbances.data()));
            stepped += d.step;
        }
        PeakPlan::Disturbed held{from / plan_block, std::min((to - 1) / plan_block + 1, blocks), 0};
        for (std::size_t b = held.first; b < held.last; ++b)
            held.most = std::max(
                held.most,
                std::abs(sums.sum[b] / plan_block -
                         s.regions.ground.level[b * plan_block + plan_block / 2] - stepped));
        plan.disturbed.push_back(held);
    }
    double rough = 0, count = 0;
    for (std::size_t b = 0; b + 1 < blocks; ++b)
        if (plan.free_blocks[b] != 0 && plan.free_blocks[b + 1] != 0)
            rough += sums.roughness[b], count += plan_block;
    if (count < 0.1 * static_cast<double>(n)) {
        reason = "hardly any background";
        return std::nullopt;
    }
    plan.roughness = rough / count;
    plan.ground =
        PlanGround(n, dt, s.regions.ground.stiffness_s, plan.free_blocks, std::move(step_blocks));
    return plan;
}

}  // namespace gw::trace
