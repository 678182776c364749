#include "trace/background.hpp"

#include <Eigen/Sparse>
#include <Eigen/SparseCholesky>
#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace gw::trace {

namespace {

// The four cubic B-splines that are not zero at u in [0, 1) of one knot interval.
std::array<double, 4> cubic_basis(double u) {
    double const v = 1 - u;
    return {v * v * v / 6,
            (3 * u * u * u - 6 * u * u + 4) / 6,
            (3 * v * v * v - 6 * v * v + 4) / 6,
            u * u * u / 6};
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
        out.value = cubic_basis(x - knot);
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
    out.level.assign(y.size(), y.empty() ? 0.0 : *std::min_element(y.begin(), y.end()));
    if (std::none_of(free.begin(), free.end(), [](bool f) { return f; })) return out;

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
    for (std::size_t i = 0; i < y.size(); ++i) {
        if (!free[i]) continue;
        auto const row = system->row(static_cast<double>(i));
        double const v = y[i] - mean;
        for (std::size_t a = 0; a < 4; ++a) {
            right(row.index[a]) += row.value[a] * v;
            for (std::size_t b = a; b < 4; ++b)
                band[static_cast<std::size_t>(row.index[a]) * 4 + (b - a)] +=
                    row.value[a] * row.value[b];
        }
        for (std::size_t k = 0; k < system->steps.size(); ++k) {
            if (i < system->steps[k]) continue;
            right(system->splines + static_cast<Eigen::Index>(k)) += v;
            for (std::size_t a = 0; a < 4; ++a)
                cross[k][static_cast<std::size_t>(row.index[a])] += row.value[a];
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
    if (system->solver.info() != Eigen::Success || !c.allFinite()) return out;
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
    for (std::size_t i = 0; i < y.size(); ++i) {
        while (next_step < steps.size() && steps[next_step].first <= i)
            step_level += steps[next_step++].second;
        auto const row = system->row(static_cast<double>(i));
        double level = mean + step_level;
        for (std::size_t k = 0; k < 4; ++k) level += row.value[k] * c(row.index[k]);
        out.level[i] = level;
    }
    out.system_ = std::move(system);
    return out;
}

}  // namespace gw::trace
