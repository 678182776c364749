#include "trace/followed_shape.hpp"

#include <algorithm>
#include <cmath>

#include "base/wide.hpp"

namespace gw::trace {

double level_at(std::vector<double> const& level, std::size_t sample) {
    double const x = (static_cast<double>(sample) - 0.5 * (plan_block - 1)) / plan_block;
    auto const last = static_cast<double>(level.size() - 2);
    auto const b = static_cast<std::size_t>(std::clamp(x, 0.0, last));
    return level[b] + (x - static_cast<double>(b)) * (level[b + 1] - level[b]);
}

namespace {

// Products of the core's samples r with the shape t, its slope g and s = (distance from the top) g.
// Four partial sums each, added in one order at the end.
struct Products {
    double tt{}, tg{}, ts{}, gg{}, gs{}, ss{}, rt{}, rg{}, rs{};
};

GW_WIDE void add_products(float const* __restrict v,
                          double const* __restrict kept,
                          std::size_t count,
                          Between const& at,
                          double base,
                          double slope,
                          double away,
                          Products& out) {
    std::array<std::array<double, 4>, 9> sums{};
    for (std::size_t i = 0; i + 4 <= count; i += 4) {
        for (std::size_t lane = 0; lane < 4; ++lane) {
            double const* t = kept + i + lane;
            auto const k = static_cast<double>(i + lane);
            double const shape =
                at.value[0] * t[0] + at.value[1] * t[1] + at.value[2] * t[2] + at.value[3] * t[3];
            double const g =
                at.slope[0] * t[0] + at.slope[1] * t[1] + at.slope[2] * t[2] + at.slope[3] * t[3];
            double const s = (away + k) * g,
                         r = static_cast<double>(v[i + lane]) - (base + k * slope);
            sums[0][lane] += shape * shape, sums[1][lane] += shape * g;
            sums[2][lane] += shape * s, sums[3][lane] += g * g;
            sums[4][lane] += g * s, sums[5][lane] += s * s;
            sums[6][lane] += r * shape, sums[7][lane] += r * g, sums[8][lane] += r * s;
        }
    }
    auto const total = [&](std::size_t k) {
        return (sums[k][0] + sums[k][2]) + (sums[k][1] + sums[k][3]);
    };
    out = {
        total(0), total(1), total(2), total(3), total(4), total(5), total(6), total(7), total(8)};
}

}  // namespace

bool fit_core(std::span<float const> y,
              std::vector<double> const& level,
              PlannedPeak const& p,
              bool move,
              FollowedFit& fit) {
    auto const origin = static_cast<double>(p.from) - static_cast<double>(p.margin);
    std::size_t const count = p.core_to - p.core_from;
    double const base = level_at(level, p.core_from),
                 slope = (level_at(level, p.core_to) - base) / static_cast<double>(count);
    for (int round = 0; round < 6; ++round) {
        Between const at(static_cast<double>(p.core_from) - origin - fit.shift);
        if (at.whole < 1 || at.whole + static_cast<std::ptrdiff_t>(count) + 2 >=
                                static_cast<std::ptrdiff_t>(p.shape.size()))
            return false;
        Products m;
        add_products(y.data() + p.core_from,
                     p.shape.data() + at.whole - 1,
                     count,
                     at,
                     base,
                     slope,
                     static_cast<double>(p.core_from) - p.top - fit.shift,
                     m);
        if (!move) {
            fit.amount = m.rt / m.tt;
            return m.tt > 0;
        }
        // Cramer's rule for three unknowns: r = a t + b g + c s.
        double const m00 = m.gg * m.ss - m.gs * m.gs, m01 = m.tg * m.ss - m.gs * m.ts,
                     m02 = m.tg * m.gs - m.gg * m.ts, n01 = m.rg * m.ss - m.gs * m.rs,
                     n02 = m.rg * m.gs - m.gg * m.rs, n12 = m.tg * m.rs - m.rg * m.ts;
        double const det = m.tt * m00 - m.tg * m01 + m.ts * m02;
        if (!(det > 0)) return false;
        double const a = (m.rt * m00 - m.tg * n01 + m.ts * n02) / det,
                     b = (m.tt * n01 - m.rt * m01 + m.ts * n12) / det,
                     c = (m.tt * (m.gg * m.rs - m.rg * m.gs) - m.tg * n12 + m.rt * m02) / det;
        if (!(a > 0)) return false;
        fit.amount = a;
        fit.shift -= b / a;
        fit.stretch = -c / a;
        if (std::abs(b / a) < 0.1) return true;
    }
    return false;
}

}  // namespace gw::trace
