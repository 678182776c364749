#include "trace/peak_flags.hpp"

namespace gw::trace {

bool is_saturated(Survey const& s, std::span<float const> raw, Region const& p) {
    float top = raw[p.top];
    for (std::size_t i = p.first; i < p.last; ++i)
        if (p.sign * raw[i] > p.sign * top) top = raw[i];
    std::size_t run = 0, longest = 0;
    for (std::size_t i = p.first; i < p.last; ++i) {
        run = raw[i] == top ? run + 1 : 0;
        longest = std::max(longest, run);
    }
    double const limit = p.sign > 0 ? s.options.range_high.value_or(INFINITY)
                                    : s.options.range_low.value_or(-INFINITY);
    if (p.sign * (static_cast<double>(top) - limit) >= 0 && longest >= 2) return true;
    // A rounded top of few counts is flat too: a clipped one stands far above the grain.
    bool const tall = std::abs(p.shape.height) > 20 * std::max(s.grain, s.fast);
    return tall && longest >= std::max<std::size_t>(
                                  4, static_cast<std::size_t>(0.08 * p.shape.width_half_s / s.dt));
}

bool has_gap(Survey const& s, Region const& p) {
    return std::any_of(s.gaps.begin(), s.gaps.end(), [&](Gap const& gap) {
        return gap.last >= p.first && gap.first < p.last;
    });
}

}  // namespace gw::trace
