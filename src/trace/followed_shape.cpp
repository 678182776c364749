#include "trace/followed_shape.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

namespace gw::trace {

namespace {

// The slope of the cubic through 2 reach + 1 samples (least squares), at each; held at the ends.
// The odd part alone tells it: x and x^3 against each other.
std::vector<double> slope_of(std::span<double const> v, std::size_t reach) {
    double s2 = 0, s4 = 0, s6 = 0;
    for (std::size_t k = 1; k <= reach; ++k) {
        double const x = static_cast<double>(k), xx = x * x;
        s2 += 2 * xx, s4 += 2 * xx * xx, s6 += 2 * xx * xx * xx;
    }
    double const det = s2 * s6 - s4 * s4;
    std::vector<double> out(v.size(), 0.0);
    std::size_t const last = v.size() - 1;
    for (std::size_t i = 0; i <= last; ++i)
        for (std::size_t k = 1; k <= reach; ++k) {
            double const x = static_cast<double>(k);
            out[i] += (s6 * x - s4 * x * x * x) / det *
                      (v[std::min(i + k, last)] - v[i - std::min(i, k)]);
        }
    return out;
}

// Half the standard deviation of a Gaussian of that half width; two at least make a cubic.
std::size_t reach_of(double half_width) {
    return std::max<std::size_t>(2, static_cast<std::size_t>(half_width / (2 * 2.3548)));
}

double dot(std::span<float const> row, std::vector<double> const& v) {
    double sum = 0;
    for (std::size_t i = 0; i < v.size(); ++i) sum += static_cast<double>(row[i]) * v[i];
    return sum;
}

}  // namespace

double level_at(std::span<double const> level, double sample) {
    double const x = (sample - 0.5 * (plan_block - 1)) / plan_block;
    auto const last = static_cast<double>(level.size() - 2);
    auto const b = static_cast<std::size_t>(std::clamp(x, 0.0, last));
    return level[b] + (x - static_cast<double>(b)) * (level[b + 1] - level[b]);
}

FitRows fit_rows(std::span<double const> shape,
                 std::size_t first,
                 std::size_t last,
                 double top,
                 double half_width,
                 double noise,
                 bool moves) {
    // Standard deviation of the stretch from run to run; common practice, no source.
    constexpr double usual_stretch = 0.003;
    FitRows out;
    out.count = last - first, out.moves = moves;
    auto const reach = reach_of(half_width);
    auto const slope = slope_of(shape, reach), bend = slope_of(slope, reach),
               twist = slope_of(bend, reach);
    std::size_t const n = out.count;
    auto const of_core = [&](auto const& value) {
        std::vector<double> v(n);
        for (std::size_t k = 0; k < n; ++k)
            v[k] = value(first + k, static_cast<double>(first + k) - top);
        return v;
    };
    auto const t = of_core([&](std::size_t i, double) { return shape[i]; });
    auto const g = of_core([&](std::size_t i, double) { return slope[i]; });
    auto const s = of_core([&](std::size_t i, double x) { return x * slope[i]; });
    auto const product = [&](std::vector<double> const& a, std::vector<double> const& b) {
        double sum = 0;
        for (std::size_t k = 0; k < n; ++k) sum += a[k] * b[k];
        return sum;
    };
    double const tt = product(t, t), tg = product(t, g), ts = product(t, s), gg = product(g, g),
                 gs = product(g, s), ss = product(s, s);
    for (auto* row : {&out.amount, &out.shift, &out.stretch}) row->assign(in_eights(n), 0.0F);
    if (!(tt > 0)) return out;
    if (moves) {
        Eigen::Matrix3d products;
        double const known = std::pow(noise / usual_stretch, 2);
        products << tt, tg, ts, tg, gg, gs, ts, gs, ss + known;
        if (!(products.determinant() > 0)) return out;
        Eigen::Matrix3d const inverse = products.inverse();
        std::array<std::vector<float>*, 3> const rows{&out.amount, &out.shift, &out.stretch};
        for (int r = 0; r < 3; ++r)
            for (std::size_t k = 0; k < n; ++k)
                (*rows[static_cast<std::size_t>(r)])[k] = static_cast<float>(
                    inverse(r, 0) * t[k] + inverse(r, 1) * g[k] + inverse(r, 2) * s[k]);
    } else {
        for (std::size_t k = 0; k < n; ++k) out.amount[k] = static_cast<float>(t[k] / tt);
        out.shift_costs = tg / tt;
    }
    auto const one = of_core([](std::size_t, double) { return 1.0; });
    auto const ramp =
        of_core([&](std::size_t i, double) { return static_cast<double>(i - first); });
    auto const h = of_core([&](std::size_t i, double) { return bend[i]; });
    auto const hx = of_core([&](std::size_t i, double x) { return x * bend[i]; });
    auto const hxx = of_core([&](std::size_t i, double x) { return x * x * bend[i]; });
    auto const q = of_core([&](std::size_t i, double) { return twist[i]; });
    for (std::size_t r = 0; r < 3; ++r) {
        auto const& row = r == 0 ? out.amount : r == 1 ? out.shift : out.stretch;
        out.sum[r] = dot(row, one), out.ramp[r] = dot(row, ramp);
        out.bend[r] = dot(row, h), out.bend_x[r] = dot(row, hx);
        out.bend_xx[r] = dot(row, hxx), out.twist[r] = dot(row, q);
    }
    out.tell_nothing = false;
    return out;
}

bool fit_core(std::span<float const> y,
              float from,
              std::span<double const> level,
              FitRows const& rows,
              std::size_t core,
              double most_shift,
              FollowedFit& fit) {
    std::size_t const count = rows.count;
    double whole = std::nearbyint(fit.shift);
    for (int round = 0; round < 6; ++round) {
        double const begin = static_cast<double>(core) + whole;
        if (!(std::abs(whole) <= most_shift + 1) || begin < 0 ||
            begin + static_cast<double>(in_eights(count)) > static_cast<double>(y.size()))
            return false;
        double const base = level_at(level, begin),
                     slope = (level_at(level, begin + static_cast<double>(count)) - base) /
                             static_cast<double>(count);
        auto m = row_products(y.data() + static_cast<std::size_t>(begin),
                              from,
                              count,
                              rows.amount.data(),
                              rows.shift.data(),
                              rows.stretch.data());
        for (std::size_t r = 0; r < 3; ++r) m[r] -= base * rows.sum[r] + slope * rows.ramp[r];
        fit.whole = whole, fit.products = m;
        if (!solve(rows, m, fit)) return false;
        double const u = fit.shift - whole;
        if (!rows.moves || std::abs(u) <= 0.6) return true;
        whole += std::nearbyint(u);
    }
    return false;
}

bool solve(FitRows const& rows, std::array<double, 3> const& m, FollowedFit& fit) {
    if (!rows.moves) {
        double const u = fit.shift - fit.whole;
        fit.amount = m[0] / (1 - u * rows.shift_costs + 0.5 * u * u * rows.bend[0]);
        fit.stretch = 0;
        return true;
    }
    if (!(m[0] > 0)) return false;
    // The run is a [t - u g - e x g + (u + e x)^2 h / 2 - u^3 q / 6] with the shape t and its
    // derivatives g, h, q: the rows part t, g and x g, and what they make of the rest is taken off
    // in turn.
    double a = m[0], u = -m[1] / a, e = -m[2] / a;
    for (int turn = 0; turn < 3; ++turn) {
        double const uu = 0.5 * u * u, ue = u * e, ee = 0.5 * e * e, uuu = u * u * u / 6;
        auto const more = [&](std::size_t r) {
            return uu * rows.bend[r] + ue * rows.bend_x[r] + ee * rows.bend_xx[r] -
                   uuu * rows.twist[r];
        };
        a = m[0] / (1 + more(0));
        u = -m[1] / a + more(1);
        e = -m[2] / a + more(2);
    }
    if (!(a > 0) || !std::isfinite(u)) return false;
    fit.amount = a, fit.shift = fit.whole + u, fit.stretch = e;
    return true;
}

std::array<double, 3> products_with(FitRows const& rows,
                                    std::span<double const> shape,
                                    std::size_t first) {
    std::array<double, 3> out{};
    for (std::size_t k = 0; k < rows.count; ++k) {
        double const v = shape[first + k];
        out[0] += static_cast<double>(rows.amount[k]) * v;
        out[1] += static_cast<double>(rows.shift[k]) * v;
        out[2] += static_cast<double>(rows.stretch[k]) * v;
    }
    return out;
}

ShapeSums::ShapeSums(std::ptrdiff_t first,
                     std::ptrdiff_t last,
                     std::function<double(std::ptrdiff_t)> const& integral)
    : first_(first), rows_(static_cast<std::size_t>(last - first) / plan_block + 1 + plan_block) {
    by_phase_.assign(rows_ * plan_block, 0.0F);
    for (std::ptrdiff_t i = first; i <= last; ++i) {
        auto const away = static_cast<std::size_t>(i - first);
        by_phase_[away % plan_block * rows_ + away / plan_block] =
            static_cast<float>(integral(i + static_cast<std::ptrdiff_t>(plan_block)) - integral(i));
    }
}

Between::Between(double at) {
    double const floor = std::floor(at), u = at - floor;
    first = static_cast<std::ptrdiff_t>(floor) - 1;
    weight = {0.5 * (-u + 2 * u * u - u * u * u),
              0.5 * (2 - 5 * u * u + 3 * u * u * u),
              0.5 * (u + 4 * u * u - 3 * u * u * u),
              0.5 * (-u * u + u * u * u)};
}

ShapeTaps Between::taps(ShapeSums const& sums, std::ptrdiff_t i, double amount) const {
    ShapeTaps out;
    for (std::size_t k = 0; k < 4; ++k) {
        out.tap[k] = sums.from(i + first + static_cast<std::ptrdiff_t>(k));
        out.weight[k] = static_cast<float>(amount * weight[k]);
    }
    return out;
}

namespace {

ShapeSums padded(std::size_t size,
                 std::size_t room,
                 std::function<double(std::size_t)> const& integral) {
    auto const n = static_cast<std::ptrdiff_t>(size), r = static_cast<std::ptrdiff_t>(room);
    return {-r, n + r, [&](std::ptrdiff_t i) {
                return integral(static_cast<std::size_t>(std::clamp<std::ptrdiff_t>(i, 0, n)));
            }};
}

}  // namespace

ShapeSums sums_of(std::span<double const> shape, std::size_t room) {
    std::vector<double> whole(1, 0.0);
    for (double const v : shape) whole.push_back(whole.back() + v);
    return padded(shape.size(), room, [&](std::size_t i) { return whole[i]; });
}

Widening widening(std::span<double const> shape, double top, double half_width, std::size_t room) {
    // The integral up to i reads at i - e x instead: it loses e x t there, and gains half the
    // square of e x times the slope.
    auto const slope = slope_of(shape, reach_of(half_width));
    auto const between = [&](std::span<double const> v, std::size_t i) {
        return i == 0 || i >= v.size() ? 0.0 : 0.5 * (v[i - 1] + v[i]);
    };
    auto const x = [&](std::size_t i) { return static_cast<double>(i) - 0.5 - top; };
    return {padded(shape.size(), room, [&](std::size_t i) { return -x(i) * between(shape, i); }),
            padded(shape.size(), room, [&](std::size_t i) {
                return 0.5 * x(i) * x(i) * between(slope, i);
            })};
}

}  // namespace gw::trace
