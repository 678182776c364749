// Compiled once for every kind of vectors; see block_kernels.cpp.
#undef HWY_TARGET_INCLUDE
#define HWY_TARGET_INCLUDE "trace/emg_rows.cpp"
#define HWY_DISABLED_TARGETS (HWY_SSE4 | HWY_AVX3_DL)
#include <hwy/foreach_target.h>
// clang-format off: the order of these is Highway's
#include <hwy/highway.h>
// clang-format on

#include <algorithm>
#include <cmath>
#include <numbers>

#include "trace/eight_lanes.hpp"
#include "trace/emg_rows.hpp"
#include "trace/erfcx_terms.hpp"

HWY_BEFORE_NAMESPACE();
namespace gw::trace::HWY_NAMESPACE {
namespace {

namespace hn = hwy::HWY_NAMESPACE;

constexpr hn::CappedTag<double, 8> d;
constexpr hn::RebindToSigned<decltype(d)> bits;
constexpr std::size_t dn = HWY_MIN(HWY_LANES(double), 8), dp = 8 / dn;
using D = hn::Vec<decltype(d)>;

HWY_INLINE D number(double v) { return hn::Set(d, v); }

// A polynomial by even and odd powers: two chains run at once.
template <std::size_t n>
HWY_INLINE D Polynomial(std::array<double, n> const& terms, D x) {
    static_assert(n % 2 == 0);
    D const square = hn::Mul(x, x);
    D odd = number(terms[n - 1]), even = number(terms[n - 2]);
    for (std::size_t k = n - 2; k > 0; k -= 2) {
        odd = hn::Add(hn::Mul(odd, square), number(terms[k - 1]));
        even = hn::Add(hn::Mul(even, square), number(terms[k - 2]));
    }
    return hn::Add(even, hn::Mul(odd, x));
}

// exp(x) for x <= 0, to two roundings; 0 below exp(-700). A power of two times exp(r), |r| below
// half of ln 2, by the first terms of its series: the fourteenth is below 1e-17.
HWY_INLINE D Exp(D x) {
    D const shifter =
        number(6755399441055744.0);  // 1.5 x 2^52: holds a whole number in its last bits
    D const held =
        hn::Add(hn::Mul(hn::Max(x, number(-700.0)), number(std::numbers::log2e)), shifter);
    D const whole = hn::Sub(held, shifter);
    // ln 2 in two parts, the first with room for a whole number of ten bits.
    D const r =
        hn::Sub(hn::Sub(hn::Max(x, number(-700.0)), hn::Mul(whole, number(0x1.62e42fefap-1))),
                hn::Mul(whole, number(0x1.cf79abc9e3b39p-40)));
    constexpr std::array<double, 14> inverse_factorials{1.0,
                                                        1.0,
                                                        1.0 / 2,
                                                        1.0 / 6,
                                                        1.0 / 24,
                                                        1.0 / 120,
                                                        1.0 / 720,
                                                        1.0 / 5040,
                                                        1.0 / 40320,
                                                        1.0 / 362880,
                                                        1.0 / 3628800,
                                                        1.0 / 39916800,
                                                        1.0 / 479001600,
                                                        1.0 / 6227020800.0};
    D const sum = Polynomial(inverse_factorials, r);
    auto const power = hn::ShiftLeft<52>(hn::BitCast(bits, held));
    D const scaled = hn::BitCast(d, hn::Add(hn::BitCast(bits, sum), power));
    return hn::IfThenZeroElse(hn::Lt(x, number(-700.0)), scaled);
}

HWY_INLINE D Erfcx(D x) {
    D const s = hn::Div(hn::Sub(x, number(erfcx_middle)), hn::Add(x, number(erfcx_middle)));
    D const sum = Polynomial(erfcx_terms, s);
    return hn::Div(sum, hn::Add(number(1.0), hn::Add(x, x)));
}

struct Constants {
    double area, mu, inverse_sigma, ratio, peak_area, gauss, inverse_tau, sigma_2, in_f, in_g;
};

HWY_INLINE void RowsAt(
    Constants const& c, double const* t, double const* weight, double* model, double* const* rows) {
    D const x = hn::Sub(hn::LoadU(d, t), number(c.mu)), u = hn::Mul(x, number(c.inverse_sigma));
    D const bell = Exp(hn::Mul(number(-0.5), hn::Mul(u, u)));
    D const z = hn::Mul(hn::Sub(number(c.ratio), u), number(1 / std::numbers::sqrt2));
    D const right = hn::Mul(bell, Erfcx(hn::Abs(z)));
    // Behind the top: erfc(z) = 2 - erfc(-z).
    D const fading = Exp(hn::Min(
        hn::Sub(number(0.5 * c.ratio * c.ratio), hn::Mul(x, number(c.inverse_tau))), hn::Zero(d)));
    D const left = hn::Sub(hn::Add(fading, fading), right);
    D const f = hn::Mul(number(c.peak_area), hn::IfThenElse(hn::Lt(z, hn::Zero(d)), left, right));
    D const g = hn::Mul(number(c.gauss), bell);
    // f + tau f' = g, and the Gaussian obeys dg/dsigma = sigma g'': both carry over to f.
    D const slope = hn::Mul(hn::Sub(g, f), number(c.inverse_tau));
    D const curvature = hn::Mul(
        hn::Sub(hn::Neg(hn::Mul(hn::Mul(x, number(c.inverse_sigma * c.inverse_sigma)), g)), slope),
        number(c.inverse_tau));
    D const by_tau = hn::Add(hn::Mul(f, hn::Add(hn::Mul(x, number(c.inverse_tau)), number(c.in_f))),
                             hn::Mul(g, number(c.in_g)));
    D const w = hn::LoadU(d, weight);
    hn::StoreU(hn::Add(hn::LoadU(d, model), f), d, model);
    hn::StoreU(hn::Mul(hn::Mul(f, number(1 / c.area)), w), d, rows[0]);
    hn::StoreU(hn::Neg(hn::Mul(slope, w)), d, rows[1]);
    hn::StoreU(hn::Mul(hn::Mul(curvature, number(c.sigma_2)), w), d, rows[2]);
    hn::StoreU(hn::Mul(by_tau, w), d, rows[3]);
}

void AddEmgRows(Emg const& p, EmgTimes const& times, double* model, double* const* rows) {
    double const ratio = p.sigma / p.tau, ratio_2 = ratio * ratio;
    Constants const c{p.area,
                      p.mu,
                      1 / p.sigma,
                      ratio,
                      p.area / (2 * p.tau),
                      p.area / p.sigma * 0.39894228040143267794,
                      1 / p.tau,
                      p.sigma * p.sigma,
                      -1 - ratio_2,
                      ratio_2};
    std::size_t i = 0;
    for (; i + dn <= times.count; i += dn) {
        double* const at[4] = {rows[0] + i, rows[1] + i, rows[2] + i, rows[3] + i};
        RowsAt(c, times.t + i, times.weight + i, model + i, at);
    }
    if (i == times.count) return;
    // The rest in arrays of a vector's length.
    std::size_t const rest = times.count - i;
    double t[8], weight[8], value[8] = {}, row[4][8];
    std::fill(t, t + 8, p.mu), std::fill(weight, weight + 8, 0.0);
    std::copy_n(times.t + i, rest, t), std::copy_n(times.weight + i, rest, weight);
    double* const at[4] = {row[0], row[1], row[2], row[3]};
    RowsAt(c, t, weight, value, at);
    for (std::size_t k = 0; k < rest; ++k) model[i + k] += value[k];
    for (std::size_t r = 0; r < 4; ++r) std::copy_n(row[r], rest, rows[r] + i);
}

HWY_INLINE double TotalOf(D const* v) {
    double lane[8];
    for (std::size_t k = 0; k < dp; ++k) hn::StoreU(v[k], d, lane + k * dn);
    return total_of(lane);
}

template <std::size_t rows>
void ProductsOf(double const* row, double const* const* others, std::size_t count, double* out) {
    D sums[rows][dp];
    for (auto& sum : sums)
        for (auto& v : sum) v = hn::Zero(d);
    auto const add = [&](double const* one, double const* const* with, std::size_t at) {
        for (std::size_t k = 0; k < dp; ++k) {
            D const v = hn::LoadU(d, one + at + k * dn);
            for (std::size_t r = 0; r < rows; ++r)
                sums[r][k] = hn::Add(sums[r][k], hn::Mul(v, hn::LoadU(d, with[r] + at + k * dn)));
        }
    };
    std::size_t i = 0;
    for (; i + 8 <= count; i += 8) add(row, others, i);
    if (i < count) {
        double last[rows + 1][8] = {};
        double const* with[rows];
        std::copy(row + i, row + count, last[rows]);
        for (std::size_t r = 0; r < rows; ++r)
            std::copy(others[r] + i, others[r] + count, last[r]), with[r] = last[r];
        add(last[rows], with, 0);
    }
    for (std::size_t r = 0; r < rows; ++r) out[r] = TotalOf(sums[r]);
}

void Products4(double const* row, double const* const* others, std::size_t count, double* out) {
    ProductsOf<4>(row, others, count, out);
}
void Products1(double const* row, double const* const* others, std::size_t count, double* out) {
    ProductsOf<1>(row, others, count, out);
}

}  // namespace
}  // namespace gw::trace::HWY_NAMESPACE
HWY_AFTER_NAMESPACE();

#if HWY_ONCE
namespace gw::trace {

HWY_EXPORT(AddEmgRows);
HWY_EXPORT(Products1);
HWY_EXPORT(Products4);

void add_emg_rows(Emg const& peak,
                  EmgTimes const& times,
                  double* model,
                  std::array<double*, 4> const& rows) {
    HWY_DYNAMIC_DISPATCH(AddEmgRows)(peak, times, model, rows.data());
}

void row_products(double const* row,
                  std::span<double const* const> others,
                  std::size_t count,
                  double* out) {
    std::size_t k = 0;
    for (; k + 4 <= others.size(); k += 4)
        HWY_DYNAMIC_DISPATCH(Products4)(row, others.data() + k, count, out + k);
    for (; k < others.size(); ++k)
        HWY_DYNAMIC_DISPATCH(Products1)(row, others.data() + k, count, out + k);
}

}  // namespace gw::trace
#endif
