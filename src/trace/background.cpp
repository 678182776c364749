#include "trace/background.hpp"

#include <Eigen/Sparse>
#include <Eigen/SparseCholesky>
#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "base/wide.hpp"

namespace gw::trace {

namespace {

// The four cubic B-splines that are not zero at u in [0, 1) of one knot interval.
inline void cubic_basis(double u, double* out) {
    double const v = 1 - u;
    out[0] = v * v * v / 6;
    out[1] = (3 * u * u * u - 6 * u * u + 4) / 6;
    out[2] = (3 * v * v * v - 6 * v * v + 4) / 6;
    out[3] = u * u * u / 6;
}

// Of every sample the four, and the knot before it. Four numbers more are read behind the last.
GW_WIDE void all_bases(std::size_t samples,
                       double samples_per_knot,
                       double* __restrict basis,
                       double* __restrict knot) {
    for (std::size_t i = 0; i < samples; ++i) {
        double const x = static_cast<double>(i) / samples_per_knot;
        knot[i] = std::floor(x);
        cubic_basis(x - knot[i], basis + 4 * i);
    }
}

// Sums over the samples between two knots, in their order: right side, and products of each spline
// with itself, the next, the next but one and the last; where a spline has no such neighbour the
// lane means nothing.
struct Sums {
    std::array<std::array<double, 4>, 5> lane{};
};
GW_WIDE void add_samples(double const* __restrict y,
                         double mean,
                         double const* __restrict basis,
                         std::size_t count,
                         Sums& sums) {
    auto lane = sums.lane;
    for (std::size_t i = 0; i < count; ++i) {
        double const* w = basis + 4 * i;
        double const v = y[i] - mean;
        for (std::size_t a = 0; a < 4; ++a) lane[0][a] += w[a] * v;
        for (std::size_t a = 0; a < 4; ++a) lane[1][a] += w[a] * w[a];
        for (std::size_t a = 0; a < 4; ++a) lane[2][a] += w[a] * w[a + 1];
        for (std::size_t a = 0; a < 4; ++a) lane[3][a] += w[a] * w[a + 2];
        for (std::size_t a = 0; a < 4; ++a) lane[4][a] += w[a] * w[a + 3];
    }
    sums.lane = lane;
}

GW_WIDE void levels(double const* __restrict basis,
                    std::size_t count,
                    double base,
                    double const* __restrict c,
                    double* __restrict level) {
    for (std::size_t i = 0; i < count; ++i) {
        double const* w = basis + 4 * i;
        level[i] = (((base + w[0] * c[0]) + w[1] * c[1]) + w[2] * c[2]) + w[3] * c[3];
    }
}

struct Row {
    std::array<Eigen::Index, 4> index{};
    std::array<double, 4> value{};
};

}  // namespace

struct Background::System {
    double samples_per_knot{};
    Eigen::Index splines{};
    std::vector<std::size_t> steps;  // first sample after each step
    Eigen::SimplicialLDLT<Eigen::SparseMatrix<double>> solver;

    [[nodiscard]] Row row(double sample) const {
        double const x = sample / samples_per_knot;
        double const knot = std::floor(x);
        Row out;
        cubic_basis(x - knot, out.value.data());
        for (int k = 0; k < 4; ++k)
            out.index[static_cast<std::size_t>(k)] = static_cast<Eigen::Index>(knot) + k;
        return out;
    }
};

double Background::u_mean(std::size_t first, std::size_t last) const {
    if (!system_ || first >= last) return 1;
    auto const& s = *system_;
    Eigen::VectorXd g =
        Eigen::VectorXd::Zero(s.splines + static_cast<Eigen::Index>(s.steps.size()));
    double const each = 1 / static_cast<double>(last - first);
    for (std::size_t i = first; i < last; ++i) {
        auto const row = s.row(static_cast<double>(i));
        for (std::size_t k = 0; k < 4; ++k) g(row.index[k]) += each * row.value[k];
        for (std::size_t k = 0; k < s.steps.size(); ++k)
            if (i >= s.steps[k]) g(s.splines + static_cast<Eigen::Index>(k)) += each;
    }
    return std::sqrt(std::max(0.0, g.dot(s.solver.solve(g))));
}

std::vector<double> Background::influence(std::size_t first,
                                          std::span<double const> weight,
                                          std::size_t bin,
                                          std::size_t bins) const {
    std::vector<double> out(bins, 0.0);
    if (!system_) return out;
    auto const& s = *system_;
    Eigen::VectorXd g =
        Eigen::VectorXd::Zero(s.splines + static_cast<Eigen::Index>(s.steps.size()));
    for (std::size_t k = 0; k < weight.size(); ++k) {
        std::size_t const i = first + k;
        auto const row = s.row(static_cast<double>(i));
        for (std::size_t a = 0; a < 4; ++a) g(row.index[a]) += weight[k] * row.value[a];
    }
    for (std::size_t j = 0; j < s.steps.size(); ++j)
        for (std::size_t k = 0; k < weight.size(); ++k)
            if (first + k >= s.steps[j]) g(s.splines + static_cast<Eigen::Index>(j)) += weight[k];
    Eigen::VectorXd const c = s.solver.solve(g);
    for (std::size_t b = 0; b < bins; ++b) {
        std::size_t const middle = b * bin + bin / 2;
        // The last bin may be begun only: its middle can lie beyond the last spline.
        auto const row =
            s.row(std::min(static_cast<double>(b * bin) + 0.5 * static_cast<double>(bin - 1),
                           static_cast<double>(level.size() - 1)));
        for (std::size_t a = 0; a < 4; ++a) out[b] += row.value[a] * c(row.index[a]);
        for (std::size_t j = 0; j < s.steps.size(); ++j)
            if (middle >= s.steps[j]) out[b] += c(s.splines + static_cast<Eigen::Index>(j));
    }
    return out;
}

Background background(std::span<double const> y,
                      std::vector<bool> const& free,
                      double start_s,
                      double interval_s,
                      BackgroundOptions const& options) {
    Background out;
    out.stiffness_s = options.stiffness_s;
    auto const least = [&] {
        out.level.assign(y.size(), y.empty() ? 0.0 : *std::min_element(y.begin(), y.end()));
        return std::move(out);
    };
    if (std::none_of(free.begin(), free.end(), [](bool f) { return f; })) return least();

    auto system = std::make_shared<Background::System>();
    double const knot_s = std::clamp(options.stiffness_s / 24, 1.5, 8.0);
    system->samples_per_knot = std::max(1.0, knot_s / interval_s);
    system->splines = static_cast<Eigen::Index>(std::floor(static_cast<double>(y.size() - 1) /
                                                           system->samples_per_knot)) +
                      4;
    for (double const t : options.steps_s) {
        double const at = std::ceil((t - start_s) / interval_s - 1e-9);
        if (at >= 1 && at < static_cast<double>(y.size()))
            system->steps.push_back(static_cast<std::size_t>(at));
    }
    auto const m = system->splines + static_cast<Eigen::Index>(system->steps.size());

    std::vector<Eigen::Triplet<double>> entries;
    std::vector<double> band(static_cast<std::size_t>(system->splines) * 4,
                             0.0);  // upper band of the splines' products
    Eigen::VectorXd right = Eigen::VectorXd::Zero(m);
    double mean = 0, count = 0;
    for (std::size_t i = 0; i < y.size(); ++i)
        if (free[i]) mean += y[i], count += 1;
    mean /= count;
    std::vector<std::vector<double>> cross(
        system->steps.size(), std::vector<double>(static_cast<std::size_t>(system->splines), 0.0));
    std::vector<double> basis(4 * (y.size() + 1)), knot(y.size());
    all_bases(y.size(), system->samples_per_knot, basis.data(), knot.data());
    // Where the knot interval or the freedom changes.
    auto const part_end = [&](std::size_t i, bool by_freedom) {
        std::size_t end = i + 1;
        while (end < y.size() && knot[end] == knot[i] && (!by_freedom || free[end] == free[i]))
            ++end;
        return end;
    };
    for (std::size_t i = 0, end = 0; i < y.size(); i = end) {
        end = part_end(i, true);
        if (!free[i]) continue;
        auto const first = static_cast<Eigen::Index>(knot[i]);
        Sums sums;
        auto const each = [&](auto const& take) {
            for (std::size_t a = 0; a < 4; ++a) {
                take(sums.lane[0][a], right(first + static_cast<Eigen::Index>(a)));
                for (std::size_t b = a; b < 4; ++b)
                    take(sums.lane[1 + b - a][a],
                         band[(static_cast<std::size_t>(first) + a) * 4 + (b - a)]);
            }
        };
        each([](double& lane, double& held) { lane = held; });
        add_samples(y.data() + i, mean, basis.data() + 4 * i, end - i, sums);
        each([](double& lane, double& held) { held = lane; });
        for (std::size_t k = 0; k < system->steps.size(); ++k)
            for (std::size_t j = std::max(i, system->steps[k]); j < end; ++j) {
                right(system->splines + static_cast<Eigen::Index>(k)) += y[j] - mean;
                for (std::size_t a = 0; a < 4; ++a)
                    cross[k][static_cast<std::size_t>(first) + a] += basis[4 * j + a];
            }
    }
    double const stiff = options.stiffness_s / (2 * std::numbers::pi * knot_s);
    double const mu = std::pow(stiff, 4) * system->samples_per_knot;
    std::array<double, 3> const second{1, -2, 1};
    for (Eigen::Index c = 0; c + 2 < system->splines; ++c)
        for (std::size_t a = 0; a < 3; ++a)
            for (std::size_t b = a; b < 3; ++b)
                band[static_cast<std::size_t>(c + static_cast<Eigen::Index>(a)) * 4 + (b - a)] +=
                    mu * second[a] * second[b];
    for (Eigen::Index c = 0; c < system->splines; ++c)
        for (Eigen::Index d = 0; d < 4 && c + d < system->splines; ++d) {
            double const v = band[static_cast<std::size_t>(c) * 4 + static_cast<std::size_t>(d)] +
                             (d == 0 ? 1e-11 * mu : 0);
            entries.emplace_back(c, c + d, v);
            if (d > 0) entries.emplace_back(c + d, c, v);
        }
    for (std::size_t k = 0; k < system->steps.size(); ++k) {
        auto const at = system->splines + static_cast<Eigen::Index>(k);
        for (Eigen::Index c = 0; c < system->splines; ++c)
            if (double const v = cross[k][static_cast<std::size_t>(c)]; v != 0)
                entries.emplace_back(c, at, v), entries.emplace_back(at, c, v);
        for (std::size_t j = 0; j < system->steps.size(); ++j) {
            double both = 0;
            for (std::size_t i = std::max(system->steps[k], system->steps[j]); i < y.size(); ++i)
                both += free[i] ? 1 : 0;
            entries.emplace_back(
                at, system->splines + static_cast<Eigen::Index>(j), both + (j == k ? 1e-3 : 0));
        }
    }
    Eigen::SparseMatrix<double> A(m, m);
    A.setFromTriplets(entries.begin(), entries.end());
    system->solver.compute(A);
    Eigen::VectorXd const c = system->solver.solve(right);
    if (system->solver.info() != Eigen::Success || !c.allFinite()) return least();
    out.level.resize(y.size());
    double step_level = 0;
    std::size_t next_step = 0;
    std::vector<std::pair<std::size_t, double>> steps;
    for (std::size_t k = 0; k < system->steps.size(); ++k)
        steps.emplace_back(system->steps[k], c(system->splines + static_cast<Eigen::Index>(k)));
    std::sort(steps.begin(), steps.end());
    for (std::size_t k = 0; k < system->steps.size(); ++k) {
        auto const at = system->splines + static_cast<Eigen::Index>(k);
        double const variance = system->solver.solve(Eigen::VectorXd::Unit(m, at))(at);
        out.steps.push_back({system->steps[k], c(at), std::sqrt(std::max(0.0, variance))});
    }
    std::sort(out.steps.begin(), out.steps.end(), [](LevelStep const& a, LevelStep const& b) {
        return a.at < b.at;
    });
    for (std::size_t i = 0, end = 0; i < y.size(); i = end) {
        while (next_step < steps.size() && steps[next_step].first <= i)
            step_level += steps[next_step++].second;
        end = part_end(i, false);
        if (next_step < steps.size()) end = std::min(end, steps[next_step].first);
        levels(basis.data() + 4 * i,
               end - i,
               mean + step_level,
               c.data() + static_cast<Eigen::Index>(knot[i]),
               out.level.data() + i);
    }
    out.system_ = std::move(system);
    return out;
}

}  // namespace gw::trace
