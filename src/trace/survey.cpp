#include "trace/survey.hpp"

#include "base/wide.hpp"

namespace gw::trace {

namespace {

constexpr std::size_t side_by_side = 16;

// Means of `width` values from each of so many places on, each summed in order.
GW_WIDE void means_from(double const* __restrict values,
                        std::size_t width,
                        double* __restrict out) {
    double sum[side_by_side] = {};
    for (std::size_t k = 0; k < width; ++k)
        for (std::size_t t = 0; t < side_by_side; ++t) sum[t] += values[k + t];
    for (std::size_t t = 0; t < side_by_side; ++t) out[t] = sum[t] / static_cast<double>(width);
}

}  // namespace

std::vector<double> means_at(std::span<double const> values,
                             std::size_t first,
                             std::size_t last,
                             std::size_t half) {
    std::vector<double> out(last - first + 1);
    // Near the record's ends the window shrinks: one by one there.
    std::size_t const wide_from = std::min(std::max(first, half), last + 1),
                      wide_to = std::max(
                          wide_from,
                          std::min(last + 1, values.size() > half ? values.size() - half : 0));
    auto const one_by_one = [&](std::size_t from, std::size_t to) {
        for (std::size_t i = from; i < to; ++i) out[i - first] = mean_at(values, i, half);
    };
    if (wide_to - wide_from < side_by_side) {
        one_by_one(first, last + 1);
        return out;
    }
    one_by_one(first, wide_from);
    for (std::size_t i = wide_from; i < wide_to; i += side_by_side) {
        std::size_t const at =
            std::min(i, wide_to - side_by_side);  // the last overlap those before
        means_from(values.data() + at - half, 2 * half + 1, out.data() + (at - first));
    }
    one_by_one(wide_to, last + 1);
    return out;
}

}  // namespace gw::trace
