#include "metrology/monte_carlo.hpp"

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <array>
#include <cmath>

#include "base/parallel.hpp"
#include "metrology/statistics.hpp"

namespace gw::metrology {

namespace {

// JCGM 101 7.9.2: u = c x 10^l with `digits` digits in c; half a unit of the last one.
double tolerance_of(double u, int digits) {
    if (!(u > 0)) return 0;
    double const l = std::floor(std::log10(u)) - (digits - 1);
    return 0.5 * std::pow(10.0, l);
}

// The lowest `count` values first and the highest `count` last, each in order; the middle stays as
// it is. An interval of 95 % is read from the ends alone, and ordering a million values costs as
// much as a seventh of drawing them.
void sort_ends(std::vector<double>& values, std::size_t count) {
    auto const n = values.size();
    if (2 * count >= n) {
        std::sort(values.begin(), values.end());
        return;
    }
    auto const low = values.begin() + static_cast<std::ptrdiff_t>(count);
    auto const high = values.end() - static_cast<std::ptrdiff_t>(count);
    std::nth_element(values.begin(), low, values.end());
    std::nth_element(low, high, values.end());
    std::sort(values.begin(), low);
    std::sort(high, values.end());
}

}  // namespace

MonteCarlo summarise(std::vector<double>& values, double coverage) {
    MonteCarlo out;
    std::size_t const M = values.size();
    out.trials = M;
    out.mean = mean(values);
    out.u = standard_deviation(values);
    // JCGM 101 7.7: q = pM, r = (M - q)/2; the shortest interval of q trials.
    auto const q = std::min<std::size_t>(
        static_cast<std::size_t>(coverage * static_cast<double>(M) + 0.5), M - 1);
    std::size_t const r = (M - q) / 2;
    sort_ends(values, M - q + 1);
    out.low = values[r];
    out.high = values[std::min(r + q, M - 1)];
    std::size_t best = 0;
    for (std::size_t i = 1; i + q < M; ++i)
        if (values[i + q] - values[i] < values[best + q] - values[best]) best = i;
    out.shortest_low = values[best];
    out.shortest_high = values[best + q];
    return out;
}

MonteCarlo monte_carlo(Trial const& trial, MonteCarloOptions const& options) {
    std::size_t const block = std::max<std::size_t>(options.block, 100);
    std::size_t const most = std::max<std::size_t>(options.most / block, 2);
    std::vector<double> all;
    std::array<std::vector<double>, 4> figures;  // of each block: mean, u, low, high
    ParallelOptions parallel;
    parallel.threads = options.threads;
    // Blocks come in waves of fixed size and are looked at in their order, so that the stop does
    // not depend on who was first.
    constexpr std::size_t wave = 10;
    bool stable = false;
    double tolerance = 0;
    for (std::size_t from = 0; from < most && !stable; from += wave) {
        std::size_t const count = std::min(wave, most - from);
        auto const blocks = parallel_map(
            count,
            [&](std::size_t b) {
                RandomStream random(options.seed, from + b);
                std::vector<double> values(block);
                for (double& value : values) value = trial(random);
                return values;
            },
            parallel);
        for (auto const& values : blocks) {
            all.insert(all.end(), values.begin(), values.end());
            if (!options.adaptive) continue;
            auto copy = values;
            auto const s = summarise(copy, options.coverage);
            figures[0].push_back(s.mean);
            figures[1].push_back(s.u);
            figures[2].push_back(s.low);
            figures[3].push_back(s.high);
            std::size_t const h = figures[0].size();
            if (h < 2) continue;
            tolerance = tolerance_of(mean(figures[1]), options.digits);
            stable = true;
            for (auto const& each : figures)
                stable =
                    stable &&
                    2 * standard_deviation(each) / std::sqrt(static_cast<double>(h)) <= tolerance;
            if (stable) break;
        }
    }
    auto out = summarise(all, options.coverage);
    out.stable = stable;
    out.tolerance = options.adaptive ? tolerance : tolerance_of(out.u, options.digits);
    return out;
}

CorrelatedNormal::CorrelatedNormal(std::span<double const> mean, SquareMatrix const& V)
    : mean_(mean.begin(), mean.end()) {
    auto const n = static_cast<Eigen::Index>(V.size());
    if (n == 0) return;
    // Scaled to correlations, so that trace components keep their digits.
    auto const u = standard_uncertainties(V);
    Eigen::MatrixXd R(n, n);
    for (Eigen::Index i = 0; i < n; ++i)
        for (Eigen::Index j = 0; j < n; ++j) {
            double const scale = u[static_cast<std::size_t>(i)] * u[static_cast<std::size_t>(j)];
            R(i, j) = scale > 0
                          ? V(static_cast<std::size_t>(i), static_cast<std::size_t>(j)) / scale
                          : 0.0;
        }
    Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> const solver(R);
    for (Eigen::Index k = 0; k < n; ++k)
        if (solver.eigenvalues()(k) > 1e-12) ++rank_;
    root_.resize(static_cast<std::size_t>(n) * rank_);
    for (std::size_t i = 0; i < static_cast<std::size_t>(n); ++i)
        for (std::size_t k = 0; k < rank_; ++k) {
            Eigen::Index const column = n - 1 - static_cast<Eigen::Index>(k);
            root_[i * rank_ + k] = u[i] *
                                   solver.eigenvectors()(static_cast<Eigen::Index>(i), column) *
                                   std::sqrt(solver.eigenvalues()(column));
        }
}

void CorrelatedNormal::draw(RandomStream& random, std::span<double> x) const {
    std::copy(mean_.begin(), mean_.end(), x.begin());
    std::array<double, 64> z{};
    std::size_t const many = std::min(rank_, z.size());
    for (std::size_t k = 0; k < many; ++k) z[k] = random.normal();
    for (std::size_t i = 0; i < mean_.size(); ++i) {
        double const* row = root_.data() + i * rank_;
        for (std::size_t k = 0; k < many; ++k) x[i] += row[k] * z[k];
    }
}

Linear propagate(Model const& model, std::vector<double> const& x, SquareMatrix const& V) {
    Linear out;
    out.value = model(x);
    std::size_t const rows = out.value.size(), n = x.size();
    std::vector<double> J(rows * n, 0.0);
    for (std::size_t i = 0; i < n; ++i) {
        double const u = V.empty() ? 0 : std::sqrt(std::max(V(i, i), 0.0));
        if (!(u > 0)) continue;
        // Small beside u, yet far above the rounding of x.
        double const h = std::max(1e-3 * u, 1e-8 * std::abs(x[i]));
        auto up = x, down = x;
        up[i] += h;
        down[i] -= h;
        auto const high = model(up), low = model(down);
        for (std::size_t r = 0; r < rows; ++r)
            J[r * n + i] = (high[r] - low[r]) / (up[i] - down[i]);
    }
    out.V = V.empty() ? SquareMatrix(rows) : congruence(J, rows, V);
    return out;
}

}  // namespace gw::metrology
