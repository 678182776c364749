#pragma once
/// A figure that carries its derivatives to a few blocks, so that a formula is written once, as its
/// standard prints it, and brings its first-order uncertainty along.
#include <array>
#include <cmath>
#include <cstddef>

namespace gw::gas {

template <std::size_t N>
struct FigureOf {
    double value{};
    std::array<double, N> d{};  ///< derivative to each block
};

template <std::size_t N>
FigureOf<N> chain(double value, FigureOf<N> const& a, double by_a) {
    FigureOf<N> out{value, {}};
    for (std::size_t k = 0; k < N; ++k) out.d[k] = by_a * a.d[k];
    return out;
}
template <std::size_t N>
FigureOf<N> chain(
    double value, FigureOf<N> const& a, double by_a, FigureOf<N> const& b, double by_b) {
    FigureOf<N> out{value, {}};
    for (std::size_t k = 0; k < N; ++k) out.d[k] = by_a * a.d[k] + by_b * b.d[k];
    return out;
}
template <std::size_t N>
FigureOf<N> operator*(FigureOf<N> const& a, FigureOf<N> const& b) {
    return chain(a.value * b.value, a, b.value, b, a.value);
}
template <std::size_t N>
FigureOf<N> operator/(FigureOf<N> const& a, FigureOf<N> const& b) {
    double const q = a.value / b.value;
    return chain(q, a, 1.0 / b.value, b, -q / b.value);
}
template <std::size_t N>
FigureOf<N> operator*(double c, FigureOf<N> const& a) {
    return chain(c * a.value, a, c);
}
template <std::size_t N>
FigureOf<N> operator+(double c, FigureOf<N> const& a) {
    return chain(c + a.value, a, 1.0);
}
template <std::size_t N>
FigureOf<N> operator-(double c, FigureOf<N> const& a) {
    return chain(c - a.value, a, -1.0);
}
template <std::size_t N>
FigureOf<N> square_root(FigureOf<N> const& a) {
    double const root = std::sqrt(a.value);
    return chain(root, a, root > 0 ? 0.5 / root : 0.0);
}

}  // namespace gw::gas
