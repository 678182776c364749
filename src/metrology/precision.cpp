#include "metrology/precision.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <mutex>

#include "base/random.hpp"
#include "metrology/statistics.hpp"

namespace gw::metrology {

namespace {

double squares(std::span<double const> values) {
    double const s = standard_deviation(values);
    return values.empty() ? 0 : s * s * static_cast<double>(values.size() - 1);
}

// The two statistics of a sorted sample.
std::pair<double, double> pair_statistics(std::vector<double> const& sorted) {
    double const all = squares(sorted);
    std::span<double const> const v(sorted);
    if (!(all > 0)) return {1, 1};
    return {squares(v.first(v.size() - 2)) / all, squares(v.subspan(2)) / all};
}

}  // namespace

double double_grubbs_critical(std::size_t n, double alpha) {
    if (n < 4 || n > 60 || !(alpha > 0 && alpha < 1)) return 0;
    // By simulation: the law has no closed form. ISO 5725-2 prints the lower quantile of the pair
    // on one named side at alpha / 2, as the other side is tested as well.
    static std::mutex guard;
    static std::map<std::size_t, std::vector<double>> drawn;
    std::lock_guard<std::mutex> const lock(guard);
    auto& law = drawn[n];
    if (law.empty()) {
        constexpr int many = 60000;
        RandomStream random(5725, n);
        std::vector<double> sample(n);
        for (int i = 0; i < many; ++i) {
            for (double& each : sample) each = random.normal();
            std::sort(sample.begin(), sample.end());
            auto const [high, low] = pair_statistics(sample);
            law.push_back(high);
            law.push_back(low);  // the same law by symmetry
        }
        std::sort(law.begin(), law.end());
    }
    return law[static_cast<std::size_t>(0.5 * alpha * static_cast<double>(law.size()))];
}

DoubleGrubbs double_grubbs(std::span<double const> values) {
    DoubleGrubbs out;
    out.high = out.low = 1;
    if (values.size() < 4) return out;
    std::vector<double> sorted(values.begin(), values.end());
    std::sort(sorted.begin(), sorted.end());
    std::tie(out.high, out.low) = pair_statistics(sorted);
    out.critical_5 = double_grubbs_critical(values.size(), 0.05);
    out.critical_1 = double_grubbs_critical(values.size(), 0.01);
    out.of_the_high = out.high <= out.low;
    double const least = std::min(out.high, out.low);
    out.outlier = least < out.critical_1;
    out.straggler = !out.outlier && least < out.critical_5;
    return out;
}

Cochran cochran(std::vector<std::vector<double>> const& groups) {
    Cochran out;
    double sum = 0, largest = -1, size = 0;
    std::size_t counted = 0;
    for (std::size_t g = 0; g < groups.size(); ++g) {
        if (groups[g].size() < 2) continue;
        double const s = standard_deviation(groups[g]);
        sum += s * s;
        size += static_cast<double>(groups[g].size());
        ++counted;
        if (s * s > largest) {
            largest = s * s;
            out.index = g;
        }
    }
    if (counted < 2 || !(sum > 0)) return out;
    out.statistic = largest / sum;
    auto const n = static_cast<std::size_t>(std::lround(size / static_cast<double>(counted)));
    out.critical_5 = cochran_critical(counted, n, 0.05);
    out.critical_1 = cochran_critical(counted, n, 0.01);
    out.outlier = out.statistic > out.critical_1;
    out.straggler = !out.outlier && out.statistic > out.critical_5;
    return out;
}

std::vector<Judged> judged(std::span<double const> values) {
    std::vector<Judged> out(values.size());
    if (values.size() < 4) return out;
    auto const mark = [&](std::size_t i, bool outlier, std::string reason) {
        out[i] = {outlier ? Standing::outlier : Standing::straggler, std::move(reason)};
    };
    if (auto const g = grubbs(values); g.outlier || g.straggler) {
        mark(g.index,
             g.outlier,
             fmt::format("Grubbs' test for one: {:.3f}, limit {:.3f} ({} %)",
                         g.statistic,
                         g.outlier ? g.critical_1 : g.critical_5,
                         g.outlier ? 1 : 5));
        return out;
    }
    auto const pair = double_grubbs(values);
    if (!pair.outlier && !pair.straggler) return out;
    std::vector<std::size_t> order(values.size());
    for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
    std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        return values[a] < values[b];
    });
    auto const reason = fmt::format("Grubbs' test for two: {:.4f}, limit {:.4f} ({} %)",
                                    std::min(pair.high, pair.low),
                                    pair.outlier ? pair.critical_1 : pair.critical_5,
                                    pair.outlier ? 1 : 5);
    for (std::size_t k = 0; k < 2; ++k)
        mark(pair.of_the_high ? order[order.size() - 1 - k] : order[k], pair.outlier, reason);
    return out;
}

Precision precision(std::vector<std::vector<double>> const& groups) {
    Precision out;
    std::vector<double> means;
    double within = 0, N = 0, N2 = 0, sum = 0;
    std::size_t p = 0, freedom = 0;
    for (auto const& g : groups) {
        if (g.empty()) continue;
        auto const n = static_cast<double>(g.size());
        means.push_back(mean(g));
        sum += means.back() * n;
        within += squares(g);
        freedom += g.size() - 1;
        N += n;
        N2 += n * n;
        ++p;
    }
    if (p == 0) return out;
    out.mean = sum / N;
    out.s_r = freedom > 0 ? std::sqrt(within / static_cast<double>(freedom)) : 0;
    out.s_means = standard_deviation(means);
    if (p > 1) {
        double between = 0;
        std::size_t k = 0;
        for (auto const& g : groups) {
            if (g.empty()) continue;
            double const d = means[k++] - out.mean;
            between += static_cast<double>(g.size()) * d * d;
        }
        auto const groups_less_one = static_cast<double>(p - 1);
        double const n_bar = (N - N2 / N) / groups_less_one;
        out.s_L = std::sqrt(std::max(0.0, (between / groups_less_one - out.s_r * out.s_r) / n_bar));
    }
    out.s_R = std::hypot(out.s_r, out.s_L);
    out.r = 2.8 * out.s_r;
    out.R = 2.8 * out.s_R;
    return out;
}

double lag1_correlation(std::span<double const> values) {
    double const m = mean(values);
    double top = 0, bottom = 0;
    for (std::size_t i = 0; i < values.size(); ++i) {
        double const d = values[i] - m;
        bottom += d * d;
        if (i > 0) top += d * (values[i - 1] - m);
    }
    return bottom > 0 ? top / bottom : 0;
}

std::size_t runs_needed(double s, double u_fixed, double wanted, double k, std::size_t most) {
    for (std::size_t n = 2; n <= most; ++n) {
        auto const count = static_cast<double>(n);
        std::array<double, 2> const u = {s / std::sqrt(count), u_fixed};
        std::array<double, 2> const df = {count - 1, 0};
        double const factor = coverage_factor(k, effective_degrees_of_freedom(u, df));
        if (factor * std::hypot(u[0], u[1]) <= wanted) return n;
    }
    return 0;
}

}  // namespace gw::metrology
