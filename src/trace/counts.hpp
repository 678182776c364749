#pragma once
/// The integers behind a signal: what a converter counted or how many last digits were printed.
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

namespace gw::trace {

enum class Scaling : std::uint8_t {
    bits,        ///< no grain: the order-keeping integers of the float's own bits
    multiplied,  ///< value = float(count x scale)
    divided,     ///< value = float(count / scale): printed decimals, scale a power of ten
};

struct Counts {
    Scaling scaling = Scaling::bits;
    double scale = 1;
    std::vector<std::int32_t> values;
};

/// Integers from which `signal` comes back bit for bit (a zero on a grain loses its sign). The
/// coarsest grain that does so is taken: a power of ten, else a step found from the differences;
/// the float's own bits where there is none, or where they pack tighter.
Counts counts_of(std::span<float const> signal);

/// The signal again.
void signal_of(std::span<std::int32_t const> counts,
               Scaling scaling,
               double scale,
               std::span<float> signal);

/// What packing costs after `order` differences: the bits the numbers need, summed.
double packing_cost(std::span<std::int32_t const> counts, int order);

}  // namespace gw::trace
