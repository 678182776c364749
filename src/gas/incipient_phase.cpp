#include "gas/incipient_phase.hpp"

#include <algorithm>
#include <cmath>

namespace gw::gas {

namespace {

constexpr double trivial = 1e-3;   // ln K: closer than this the two phases are one
constexpr double far_apart = 1.0;  // ln K: from here the second derivatives are of order one

// Gauss elimination with row exchange; A row by row, destroyed. b holds `columns` right sides.
bool solve(std::vector<double>& A, std::vector<double>& b, std::size_t n, std::size_t columns) {
    for (std::size_t k = 0; k < n; ++k) {
        std::size_t pivot = k;
        for (std::size_t i = k + 1; i < n; ++i)
            if (std::abs(A[i * n + k]) > std::abs(A[pivot * n + k])) pivot = i;
        if (!(std::abs(A[pivot * n + k]) > 1e-300)) return false;
        if (pivot != k) {
            for (std::size_t j = 0; j < n; ++j) std::swap(A[k * n + j], A[pivot * n + j]);
            for (std::size_t c = 0; c < columns; ++c)
                std::swap(b[k * columns + c], b[pivot * columns + c]);
        }
        for (std::size_t i = k + 1; i < n; ++i) {
            double const factor = A[i * n + k] / A[k * n + k];
            if (factor == 0) continue;
            for (std::size_t j = k; j < n; ++j) A[i * n + j] -= factor * A[k * n + j];
            for (std::size_t c = 0; c < columns; ++c)
                b[i * columns + c] -= factor * b[k * columns + c];
        }
    }
    for (std::size_t k = n; k-- > 0;)
        for (std::size_t c = 0; c < columns; ++c) {
            double sum = b[k * columns + c];
            for (std::size_t j = k + 1; j < n; ++j) sum -= A[k * n + j] * b[j * columns + c];
            b[k * columns + c] = sum / A[k * n + k];
        }
    return true;
}

}  // namespace

std::optional<Incipient> incipient_phase(CubicMixture const& mixture,
                                         std::span<double const> z,
                                         Boundary boundary,
                                         std::vector<double> X,
                                         std::size_t spec,
                                         double value,
                                         int iterations) {
    std::size_t const n = z.size(), N = n + 2, T_at = n, p_at = n + 1;
    std::vector<double> w(n), A(N * N), b(N * 2);
    Fugacity feed, other;
    bool const dew = boundary == Boundary::dew;
    auto const feed_root = dew ? Root::vapour : Root::liquid;
    auto const other_root = dew ? Root::liquid : Root::vapour;
    X[spec] = value;
    for (int round = 1; round <= iterations; ++round) {
        double const T = std::exp(X[T_at]), p = std::exp(X[p_at]);
        if (!(T > 10 && T < 3000 && p > 1e-3 && p < 1e10)) return std::nullopt;
        double sum = 0;
        for (std::size_t i = 0; i < n; ++i) sum += w[i] = z[i] * std::exp(X[i]);
        if (!(sum > 0 && std::isfinite(sum))) return std::nullopt;
        mixture.fugacity(z, T, p, WithDerivatives::of_state, feed, feed_root);
        mixture.fugacity(w, T, p, WithDerivatives::yes, other, other_root);
        std::fill(A.begin(), A.end(), 0.0);
        std::fill(b.begin(), b.end(), 0.0);
        for (std::size_t i = 0; i < n; ++i) {
            b[i * 2] = -(X[i] + other.ln_phi[i] - feed.ln_phi[i]);
            for (std::size_t j = 0; j < n; ++j) A[i * N + j] = other.d_n[i * n + j] * w[j] / sum;
            A[i * N + i] += 1;
            A[i * N + T_at] = T * (other.d_T[i] - feed.d_T[i]);
            A[i * N + p_at] = p * (other.d_p[i] - feed.d_p[i]);
            A[n * N + i] = w[i];
        }
        b[n * 2] = 1 - sum;
        A[(n + 1) * N + spec] = 1;
        b[(n + 1) * 2] = value - X[spec];
        b[(n + 1) * 2 + 1] = 1;
        if (!solve(A, b, N, 2)) return std::nullopt;
        double largest = 0;
        for (std::size_t k = 0; k < N; ++k) largest = std::max(largest, std::abs(b[k * 2]));
        if (!std::isfinite(largest)) return std::nullopt;
        double const shorten = largest > 1 ? 1 / largest : 1;
        for (std::size_t k = 0; k < N; ++k) X[k] += shorten * b[k * 2];
        double apart = 0;
        for (std::size_t i = 0; i < n; ++i) apart = std::max(apart, std::abs(X[i]));
        // Newton's step leaves about its own square, unless the phases are all but one.
        if (!(largest < (apart > far_apart ? 1e-6 : 1e-9))) continue;
        if (apart < trivial) return std::nullopt;
        Incipient out{
            {{std::exp(X[T_at]), std::exp(X[p_at])}, dew, X, std::vector<double>(N), spec}, round};
        for (std::size_t k = 0; k < N; ++k) out.point.dX[k] = b[k * 2 + 1];
        return out;
    }
    return std::nullopt;
}

std::vector<double> between(PhaseEnvelope::Point const& a,
                            PhaseEnvelope::Point const& b,
                            std::size_t spec,
                            double value) {
    double const h = b.X[spec] - a.X[spec];
    double const u = (value - a.X[spec]) / h;
    double const scale_a = a.dX[spec], scale_b = b.dX[spec];
    std::vector<double> out(a.X.size());
    for (std::size_t k = 0; k < out.size(); ++k) {
        double const slope_a = h * a.dX[k] / scale_a, slope_b = h * b.dX[k] / scale_b;
        double const d = b.X[k] - a.X[k];
        out[k] =
            a.X[k] +
            u * (slope_a + u * (3 * d - 2 * slope_a - slope_b + u * (slope_a + slope_b - 2 * d)));
    }
    return out;
}

}  // namespace gw::gas
