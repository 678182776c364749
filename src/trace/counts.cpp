#include "trace/counts.hpp"

#include <algorithm>
#include <bit>
#include <cmath>

#include "base/wide.hpp"

namespace gw::trace {

namespace {

constexpr double largest_count = 2147483000.0;

float back(std::int32_t count, Scaling scaling, double scale) {
    double const c = count;
    return static_cast<float>(scaling == Scaling::divided ? c / scale : c * scale);
}

bool fills(std::span<float const> signal, Scaling scaling, double scale, Counts& out) {
    out.scaling = scaling, out.scale = scale;
    out.values.resize(signal.size());
    for (std::size_t i = 0; i < signal.size(); ++i) {
        double const v = signal[i],
                     c = std::nearbyint(scaling == Scaling::divided ? v * scale : v / scale);
        if (!(std::abs(c) < largest_count)) return false;
        out.values[i] = static_cast<std::int32_t>(c);
        // Equal floats have equal bits, but for the sign of a zero, which no converter has.
        if (back(out.values[i], scaling, scale) != signal[i]) return false;
    }
    return true;
}

// The step between the levels the signal takes. Neighbouring levels give it roughly, levels ever
// further apart ever more sharply: the count between them is certain each time.
std::optional<double> step_of(std::span<float const> signal) {
    std::vector<double> level(signal.begin(), signal.end());
    std::sort(level.begin(), level.end());
    level.erase(std::unique(level.begin(), level.end()), level.end());
    if (level.size() < 3) return std::nullopt;
    double least = level.back() - level.front();
    for (std::size_t i = 1; i < level.size(); ++i) least = std::min(least, level[i] - level[i - 1]);
    double step = least, products = 0, squares = 0;
    for (double const v : level) {
        double const away = v - level.front(), k = std::nearbyint(away / step);
        products += away * k, squares += k * k;
        if (squares > 0) step = products / squares;
    }
    products = squares = 0;
    for (double const v : level) {
        double const k = std::nearbyint(v / step);
        products += v * k, squares += k * k;
    }
    return squares > 0 && products > 0 ? std::optional(products / squares) : std::nullopt;
}

double rounded_to(double value, int digits) {
    double const power = std::pow(10.0, digits - 1 - std::floor(std::log10(value)));
    return std::round(value * power) / power;
}

Counts own_bits(std::span<float const> signal) {
    Counts out;
    out.values.resize(signal.size());
    for (std::size_t i = 0; i < signal.size(); ++i) {
        auto const b = std::bit_cast<std::uint32_t>(signal[i]);
        out.values[i] = static_cast<std::int32_t>((b & 0x80000000U) != 0 ? ~b ^ 0x80000000U : b);
    }
    return out;
}

std::optional<Counts> grain_of(std::span<float const> signal) {
    Counts out;
    double power = 1;
    for (int decimals = 0; decimals <= 9; ++decimals, power *= 10)
        if (fills(signal, Scaling::divided, power, out)) return out;
    auto const step = step_of(signal);
    if (!step) return std::nullopt;
    for (int digits = 1; digits <= 13; ++digits)
        if (fills(signal, Scaling::multiplied, rounded_to(*step, digits), out)) return out;
    if (fills(signal, Scaling::multiplied, *step, out)) return out;
    // A range over a power of two: 1 / step is then close to a round number.
    for (int digits = 1; digits <= 13; ++digits)
        if (fills(signal, Scaling::divided, rounded_to(1 / *step, digits), out)) return out;
    return std::nullopt;
}

double cheapest(std::span<std::int32_t const> counts) {
    return std::min({packing_cost(counts, 0), packing_cost(counts, 1), packing_cost(counts, 2)});
}

}  // namespace

double packing_cost(std::span<std::int32_t const> counts, int order) {
    double bits = 0;
    std::uint32_t before = 0, before_d = 0;
    for (std::int32_t const c : counts) {
        auto const x = static_cast<std::uint32_t>(c);
        std::uint32_t const d = x - before;
        std::uint32_t const v = order == 0 ? x : order == 1 ? d : d - before_d;
        before = x, before_d = d;
        auto const s = static_cast<std::int32_t>(v);
        bits += std::bit_width((v << 1U) ^ static_cast<std::uint32_t>(s >> 31));
    }
    return bits;
}

Counts counts_of(std::span<float const> signal) {
    auto bits = own_bits(signal);
    auto grain = grain_of(signal);
    if (!grain || cheapest(grain->values) > cheapest(bits.values)) return bits;
    return *std::move(grain);
}

namespace {

GW_WIDE void from_bits(std::int32_t const* __restrict counts,
                       float* __restrict out,
                       std::size_t n) {
    for (std::size_t i = 0; i < n; ++i) {
        auto const b = static_cast<std::uint32_t>(counts[i]);
        out[i] = std::bit_cast<float>((b & 0x80000000U) != 0 ? ~(b ^ 0x80000000U) : b);
    }
}

GW_WIDE void multiplied(std::int32_t const* __restrict counts,
                        double scale,
                        float* __restrict out,
                        std::size_t n) {
    for (std::size_t i = 0; i < n; ++i)
        out[i] = static_cast<float>(static_cast<double>(counts[i]) * scale);
}

GW_WIDE void divided(std::int32_t const* __restrict counts,
                     double scale,
                     float* __restrict out,
                     std::size_t n) {
    for (std::size_t i = 0; i < n; ++i)
        out[i] = static_cast<float>(static_cast<double>(counts[i]) / scale);
}

}  // namespace

void signal_of(std::span<std::int32_t const> counts,
               Scaling scaling,
               double scale,
               std::span<float> signal) {
    switch (scaling) {
        case Scaling::bits:
            return from_bits(counts.data(), signal.data(), counts.size());
        case Scaling::multiplied:
            return multiplied(counts.data(), scale, signal.data(), counts.size());
        case Scaling::divided:
            return divided(counts.data(), scale, signal.data(), counts.size());
    }
}

}  // namespace gw::trace
