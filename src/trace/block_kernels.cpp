// Compiled once for every kind of vectors (foreach_target.h includes it anew for each); which one
// is taken is decided when the program runs.
#undef HWY_TARGET_INCLUDE
#define HWY_TARGET_INCLUDE "trace/block_kernels.cpp"
// Those between bring nothing here that their neighbours lack.
#define HWY_DISABLED_TARGETS (HWY_SSE4 | HWY_AVX3_DL)
#include <hwy/foreach_target.h>
// clang-format off: the order of these is Highway's
#include <hwy/highway.h>
// clang-format on

#include <algorithm>
#include <cmath>
#include <cstring>

#include "trace/block_kernels.hpp"
#include "trace/eight_lanes.hpp"

HWY_BEFORE_NAMESPACE();
namespace gw::trace::HWY_NAMESPACE {
namespace {

namespace hn = hwy::HWY_NAMESPACE;

// Eight floats, or eight doubles, as so many vectors as it takes.
constexpr hn::CappedTag<float, 8> f;
constexpr hn::CappedTag<double, 8> d;
constexpr std::size_t fn = HWY_MIN(HWY_LANES(float), 8), dn = HWY_MIN(HWY_LANES(double), 8);
constexpr std::size_t fp = 8 / fn, dp = 8 / dn;
using F = hn::Vec<decltype(f)>;
using D = hn::Vec<decltype(d)>;
// Half of a vector of floats turns into a vector of doubles of as many lanes.
constexpr hn::Rebind<float, decltype(d)> narrow;

// `count` floats, which lie in order in count / fn vectors, added by neighbours until eight are
// left.
template <std::size_t count>
HWY_INLINE void by_neighbours(F* v) {
    if constexpr (count > 8) {
        for (std::size_t i = 0; i < count / fn / 2; ++i)
            v[i] = hn::Add(hn::ConcatEven(f, v[2 * i + 1], v[2 * i]),
                           hn::ConcatOdd(f, v[2 * i + 1], v[2 * i]));
        by_neighbours<count / 2>(v);
    }
}

HWY_INLINE void sums_of_eight(float const* y, F from, float* sum) {
    F v[8 * fp];
    for (std::size_t i = 0; i < 8 * fp; ++i) v[i] = hn::Sub(hn::LoadU(f, y + i * fn), from);
    by_neighbours<64>(v);
    for (std::size_t i = 0; i < fp; ++i) hn::StoreU(v[i], f, sum + i * fn);
}

void BlockSums(float const* y, std::size_t blocks, float from, float* sum) {
    F const start = hn::Set(f, from);
    std::size_t b = 0;
    for (; b + 8 <= blocks; b += 8) sums_of_eight(y + 8 * b, start, sum + b);
    if (b == blocks) return;
    float rest[64] = {};
    std::memcpy(rest, y + 8 * b, (blocks - b) * 8 * sizeof(float));
    sums_of_eight(rest, start, sum + b);
}

// Of eight blocks, those from `count` on as zero.
HWY_INLINE void roughness_of_eight(float const* y, std::size_t count, F* total, F* most) {
    F v[8 * fp];
    F const three = hn::Set(f, 3.0F);
    for (std::size_t i = 0; i < 8 * fp; ++i) {
        float const* p = y + i * fn;
        F const outer = hn::Sub(hn::LoadU(f, p + 3), hn::LoadU(f, p)),
                inner = hn::Sub(hn::LoadU(f, p + 2), hn::LoadU(f, p + 1));
        F const third = hn::Sub(outer, hn::Mul(three, inner));
        v[i] = hn::Mul(third, third);
    }
    by_neighbours<64>(v);
    for (std::size_t i = 0; i < fp; ++i) {
        auto const counted = hn::FirstN(f, count > i * fn ? count - i * fn : 0);
        F const kept = hn::IfThenElseZero(counted, v[i]);
        total[i] = hn::Add(total[i], kept);
        most[i] = hn::Max(most[i], kept);
    }
}

void RoughnessOf(
    float const* y, std::size_t samples, std::size_t first, std::size_t last, Roughness& out) {
    F total[fp], most[fp];
    for (std::size_t i = 0; i < fp; ++i) total[i] = most[i] = hn::Zero(f);
    for (std::size_t b = first; b < last; b += 8) {
        std::size_t const at = 8 * b, reads = 64 + 3;
        if (at + reads <= samples) {
            roughness_of_eight(y + at, last - b, total, most);
        } else {
            float rest[64 + 3] = {};
            std::memcpy(rest, y + at, (samples - at) * sizeof(float));
            roughness_of_eight(rest, last - b, total, most);
        }
    }
    float lanes[8], largest[8];
    for (std::size_t i = 0; i < fp; ++i) {
        hn::StoreU(total[i], f, lanes + i * fn);
        hn::StoreU(most[i], f, largest + i * fn);
    }
    out.total = static_cast<double>(total_of(lanes));
    out.most = *std::max_element(largest, largest + 8);
}

void AddMoments(KnotSpan const& s, float const* sum, double const* weights, double* c) {
    constexpr hn::CappedTag<double, 4> q;
    constexpr std::size_t qn = HWY_MIN(HWY_LANES(double), 4), qp = 4 / qn;
    // Even and odd blocks apart: two chains of sums run at once.
    hn::Vec<decltype(q)> even[qp], odd[qp];
    for (std::size_t i = 0; i < qp; ++i) even[i] = odd[i] = hn::Zero(q);
    std::size_t b = s.first;
    for (; b + 2 <= s.last; b += 2) {
        auto const v = hn::Set(q, static_cast<double>(sum[b])),
                   w = hn::Set(q, static_cast<double>(sum[b + 1]));
        for (std::size_t i = 0; i < qp; ++i) {
            even[i] = hn::Add(even[i], hn::Mul(v, hn::LoadU(q, weights + 4 * b + i * qn)));
            odd[i] = hn::Add(odd[i], hn::Mul(w, hn::LoadU(q, weights + 4 * b + 4 + i * qn)));
        }
    }
    for (std::size_t i = 0; i < qp; ++i) {
        if (b < s.last)
            even[i] = hn::Add(even[i],
                              hn::Mul(hn::Set(q, static_cast<double>(sum[b])),
                                      hn::LoadU(q, weights + 4 * b + i * qn)));
        double* at = c + s.spline + i * qn;
        hn::StoreU(hn::Add(hn::LoadU(q, at), hn::Add(even[i], odd[i])), q, at);
    }
}

void LaySpan(KnotSpan const& s,
             std::array<double, 4> const& cubic,
             float const* sum,
             double* level,
             float* above) {
    D const p0 = hn::Set(d, cubic[0]), p1 = hn::Set(d, cubic[1]), p2 = hn::Set(d, cubic[2]),
            p3 = hn::Set(d, cubic[3]), start = hn::Set(d, s.u), step = hn::Set(d, s.u_step),
            eight = hn::Set(d, 8.0);
    D const lane = hn::Iota(d, 0.0);
    for (std::size_t b = s.first; b < s.last; b += 8)
        for (std::size_t i = 0; i < dp; ++i) {
            std::size_t const at = b + i * dn;
            D const k = hn::Add(hn::Set(d, static_cast<double>(at - s.first)), lane);
            D const u = hn::Add(start, hn::Mul(k, step));
            D v = hn::Add(p2, hn::Mul(p3, u));
            v = hn::Add(p1, hn::Mul(v, u));
            v = hn::Add(p0, hn::Mul(v, u));
            D const whole = hn::PromoteTo(d, hn::LoadU(narrow, sum + at));
            hn::StoreU(v, d, level + at);
            hn::StoreU(hn::DemoteTo(narrow, hn::Sub(whole, hn::Mul(v, eight))), narrow, above + at);
        }
}

// One width: whether a sum stands out; what is left are the sums of twice the width. Behind the
// last block there is nothing: sums that reach there are of fewer blocks.
template <bool with_tolerance>
HWY_INLINE bool round_of(
    float* sums, float* allowed, std::size_t count, std::size_t apart, float noise) {
    F const limit = hn::Set(f, noise);
    auto out = hn::FirstN(f, 0);
    for (std::size_t i = 0; i < count; i += fn) {
        F const r = hn::LoadU(f, sums + i), beside = hn::LoadU(f, sums + i + apart);
        if constexpr (with_tolerance) {
            F const t = hn::LoadU(f, allowed + i), more = hn::LoadU(f, allowed + i + apart);
            out = hn::Or(out, hn::Gt(hn::Abs(r), hn::Add(limit, t)));
            hn::StoreU(hn::Add(t, more), f, allowed + i);
        } else {
            out = hn::Or(out, hn::Gt(hn::Abs(r), limit));
        }
        hn::StoreU(hn::Add(r, beside), f, sums + i);
    }
    return !hn::AllFalse(f, out);
}

template <bool with_tolerance>
HWY_INLINE bool any_stands_out(
    float* sums, float* allowed, std::size_t blocks, SumLimits const& limits, float scale) {
    for (std::size_t round = 0; round < 4; ++round)
        if (round_of<with_tolerance>(
                sums, allowed, blocks, std::size_t{1} << round, scale * limits.noise[round]))
            return true;
    // Sums of sixteen at every place are left; from here on they overlap by half.
    std::size_t count = 0;
    for (std::size_t i = 0; i + 16 <= blocks; i += 8, ++count) {
        sums[count] = sums[i];
        if constexpr (with_tolerance) allowed[count] = allowed[i];
    }
    for (std::size_t round = 4; count > 0; ++round) {
        float const noise = scale * limits.noise[round];
        std::size_t next = 0;
        for (std::size_t i = 0; i < count; ++i)
            if (std::abs(sums[i]) > noise + (with_tolerance ? allowed[i] : 0.0F)) return true;
        for (std::size_t i = 0; i + 2 < count; i += 2, ++next) {
            sums[next] = sums[i] + sums[i + 2];
            if constexpr (with_tolerance) allowed[next] = allowed[i] + allowed[i + 2];
        }
        count = next;
    }
    return false;
}

bool StandsOut(float const* rest,
               float const* tolerance,
               std::size_t blocks,
               SumLimits const& limits,
               float scale,
               float* work) {
    constexpr std::size_t behind = 32;
    float *sums = work, *allowed = work + blocks + behind;
    std::memcpy(sums, rest, blocks * sizeof(float));
    std::memset(sums + blocks, 0, behind * sizeof(float));
    if (tolerance == nullptr) return any_stands_out<false>(sums, allowed, blocks, limits, scale);
    std::memcpy(allowed, tolerance, blocks * sizeof(float));
    std::memset(allowed + blocks, 0, behind * sizeof(float));
    return any_stands_out<true>(sums, allowed, blocks, limits, scale);
}

void RowProducts(float const* y,
                 float from,
                 std::size_t count,
                 float const* a,
                 float const* b,
                 float const* c,
                 double* out) {
    F const start = hn::Set(f, from);
    F sums[3][fp];
    for (auto& row : sums)
        for (auto& v : row) v = hn::Zero(f);
    for (std::size_t i = 0; i < count; i += 8)
        for (std::size_t k = 0; k < fp; ++k) {
            std::size_t const at = i + k * fn;
            F const v = hn::Sub(hn::LoadU(f, y + at), start);
            sums[0][k] = hn::Add(sums[0][k], hn::Mul(v, hn::LoadU(f, a + at)));
            sums[1][k] = hn::Add(sums[1][k], hn::Mul(v, hn::LoadU(f, b + at)));
            sums[2][k] = hn::Add(sums[2][k], hn::Mul(v, hn::LoadU(f, c + at)));
        }
    float lanes[8];
    for (std::size_t row = 0; row < 3; ++row) {
        for (std::size_t k = 0; k < fp; ++k) hn::StoreU(sums[row][k], f, lanes + k * fn);
        out[row] = static_cast<double>(total_of(lanes));
    }
}

void AddTaps(ShapeTaps const& t, std::size_t blocks, float* out) {
    F const w0 = hn::Set(f, t.weight[0]), w1 = hn::Set(f, t.weight[1]),
            w2 = hn::Set(f, t.weight[2]), w3 = hn::Set(f, t.weight[3]);
    for (std::size_t i = 0; i < in_eights(blocks); i += fn) {
        F const outer = hn::Add(hn::Mul(w0, hn::LoadU(f, t.tap[0] + i)),
                                hn::Mul(w3, hn::LoadU(f, t.tap[3] + i)));
        F const inner = hn::Add(hn::Mul(w1, hn::LoadU(f, t.tap[1] + i)),
                                hn::Mul(w2, hn::LoadU(f, t.tap[2] + i)));
        hn::StoreU(hn::Add(hn::LoadU(f, out + i), hn::Add(inner, outer)), f, out + i);
    }
}

void RestOf(float const* above,
            float const* shape,
            std::size_t blocks,
            float part,
            float* rest,
            float* tolerance) {
    F const share = hn::Set(f, part);
    for (std::size_t i = 0; i < in_eights(blocks); i += fn) {
        F const s = hn::LoadU(f, shape + i);
        hn::StoreU(hn::Sub(hn::LoadU(f, above + i), s), f, rest + i);
        hn::StoreU(hn::Mul(share, hn::Abs(s)), f, tolerance + i);
    }
}

}  // namespace
}  // namespace gw::trace::HWY_NAMESPACE
HWY_AFTER_NAMESPACE();

#if HWY_ONCE
namespace gw::trace {

HWY_EXPORT(BlockSums);
HWY_EXPORT(RoughnessOf);
HWY_EXPORT(AddMoments);
HWY_EXPORT(LaySpan);
HWY_EXPORT(StandsOut);
HWY_EXPORT(RowProducts);
HWY_EXPORT(AddTaps);
HWY_EXPORT(RestOf);

void block_sums(std::span<float const> y, float from, float* sum) {
    HWY_DYNAMIC_DISPATCH(BlockSums)(y.data(), y.size() / plan_block, from, sum);
}

Roughness roughness(std::span<float const> y, std::size_t first, std::size_t last) {
    Roughness out;
    HWY_DYNAMIC_DISPATCH(RoughnessOf)(y.data(), y.size(), first, last, out);
    return out;
}

void add_moments(KnotSpan const& span, float const* sum, double const* weights, double* c) {
    HWY_DYNAMIC_DISPATCH(AddMoments)(span, sum, weights, c);
}

void lay_span(KnotSpan const& span,
              std::array<double, 4> const& cubic,
              float const* sum,
              double* level,
              float* above) {
    HWY_DYNAMIC_DISPATCH(LaySpan)(span, cubic, sum, level, above);
}

bool stands_out(float const* rest,
                float const* tolerance,
                std::size_t blocks,
                SumLimits const& limits,
                float scale,
                float* work) {
    return HWY_DYNAMIC_DISPATCH(StandsOut)(rest, tolerance, blocks, limits, scale, work);
}

std::array<double, 3> row_products(
    float const* y, float from, std::size_t count, float const* a, float const* b, float const* c) {
    std::array<double, 3> out{};
    HWY_DYNAMIC_DISPATCH(RowProducts)(y, from, count, a, b, c, out.data());
    return out;
}

void add_taps(ShapeTaps const& taps, std::size_t blocks, float* out) {
    HWY_DYNAMIC_DISPATCH(AddTaps)(taps, blocks, out);
}

void rest_of(float const* above,
             float const* shape,
             std::size_t blocks,
             float part,
             float* rest,
             float* tolerance) {
    HWY_DYNAMIC_DISPATCH(RestOf)(above, shape, blocks, part, rest, tolerance);
}

std::vector<std::string> kernel_widths() {
    std::vector<std::string> out;
    auto const all = hwy::SupportedAndGeneratedTargets();
    for (auto target = all.rbegin(); target != all.rend(); ++target)
        out.emplace_back(hwy::TargetName(*target));
    return out;
}

void use_kernel_width(std::string const& name) {
    hwy::SetSupportedTargetsForTest(0);
    for (auto const target : hwy::SupportedAndGeneratedTargets())
        if (hwy::TargetName(target) == name) hwy::SetSupportedTargetsForTest(target);
    hwy::GetChosenTarget().Update(hwy::SupportedTargets());
}

}  // namespace gw::trace
#endif
