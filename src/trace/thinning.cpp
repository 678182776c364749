#include "trace/thinning.hpp"

#include <algorithm>
#include <numeric>

namespace gw::trace {

namespace {

template <class Number>
std::vector<std::size_t> kept(std::span<Number const> signal, std::size_t most) {
    std::size_t const n = signal.size();
    most = std::max<std::size_t>(most, 4);
    std::vector<std::size_t> out;
    if (n <= most) {
        out.resize(n);
        std::iota(out.begin(), out.end(), std::size_t{0});
        return out;
    }
    out.reserve(most);
    out.push_back(0);
    std::size_t const stretches = (most - 2) / 2, inner = n - 2;
    for (std::size_t s = 0; s < stretches; ++s) {
        std::size_t const first = 1 + inner * s / stretches, end = 1 + inner * (s + 1) / stretches;
        std::size_t low = first, high = first;
        for (std::size_t i = first; i < end; ++i) {
            if (signal[i] < signal[low]) low = i;
            if (signal[i] > signal[high]) high = i;
        }
        out.push_back(std::min(low, high));
        if (low != high) out.push_back(std::max(low, high));
    }
    out.push_back(n - 1);
    return out;
}

}  // namespace

std::vector<std::size_t> thinned(std::span<float const> signal, std::size_t most) {
    return kept(signal, most);
}
std::vector<std::size_t> thinned(std::span<double const> signal, std::size_t most) {
    return kept(signal, most);
}

}  // namespace gw::trace
