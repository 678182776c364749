#include "metrology/run_length.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numbers>
#include <vector>

namespace gw::metrology {

namespace {

double normal_density(double z) { return std::exp(-0.5 * z * z) / std::sqrt(2 * std::numbers::pi); }
double normal_below(double z) { return 0.5 * std::erfc(-z / std::numbers::sqrt2); }

struct Nodes {
    std::vector<double> at, weight;
};

// Gauss-Legendre on [low, high]: zeros of the Legendre polynomial by Newton's steps from the
// asymptotic guess.
Nodes gauss_legendre(int n, double low, double high) {
    Nodes out;
    double const half = 0.5 * (high - low), middle = 0.5 * (high + low);
    for (int i = 0; i < n; ++i) {
        double x = std::cos(std::numbers::pi * (i + 0.75) / (n + 0.5));
        double slope = 1;
        for (int pass = 0; pass < 100; ++pass) {
            double before = 1, now = x;
            for (int j = 2; j <= n; ++j) {
                double const next = ((2 * j - 1) * x * now - (j - 1) * before) / j;
                before = now;
                now = next;
            }
            slope = n * (x * now - before) / (x * x - 1);
            double const step = now / slope;
            x -= step;
            if (std::abs(step) < 1e-15) break;
        }
        out.at.push_back(middle - half * x);
        out.weight.push_back(half * 2 / ((1 - x * x) * slope * slope));
    }
    return out;
}

int nodes_for(double width_in_sd) {
    return std::clamp(static_cast<int>(std::ceil(6 * width_in_sd)), 24, 160);
}

template <class Limit>
double bisected(double low, double high, double wanted, Limit const& run_length) {
    double const target = std::clamp(wanted, 2.0, 1e7);
    while (high - low > 1e-7) {
        double const middle = 0.5 * (low + high);
        (run_length(middle) < target ? low : high) = middle;
    }
    return 0.5 * (low + high);
}

// Zones of one point: where it lies, by whole standard deviations, capped at 3.
constexpr int zones = 8;  // below -3, -3..-2, -2..-1, -1..0, and the mirror of them
double zone_probability(int zone, double shift) {
    std::array<double, zones + 1> const edge = {-1e9, -3, -2, -1, 0, 1, 2, 3, 1e9};
    auto const z = static_cast<std::size_t>(zone);
    return normal_below(edge[z + 1] - shift) - normal_below(edge[z] - shift);
}

// Which of the last points (a bit each, the newest lowest) lay beyond 2, beyond 1 and beyond 0 on
// one side.
struct Side {
    unsigned beyond_2 = 0, beyond_1 = 0, row = 0;
    friend auto operator<=>(Side const&, Side const&) = default;
};

unsigned bits(unsigned value) {
    unsigned count = 0;
    for (; value != 0; value &= value - 1) ++count;
    return count;
}

// The side after a point that lies `reach` whole standard deviations beyond the mean on it (-1: on
// the other side); answers whether a rule signals. Only what later points can still use is kept.
bool advance(Side& side, int reach, RunRules const& rules) {
    bool signal = false;
    if (rules.two_of_three) {
        unsigned const last = (side.beyond_2 << 1U | (reach >= 2 ? 1U : 0U)) & 7U;
        signal = signal || (reach >= 2 && bits(last) >= 2);
        side.beyond_2 = last & 3U;
    }
    if (rules.four_of_five) {
        unsigned const last = (side.beyond_1 << 1U | (reach >= 1 ? 1U : 0U)) & 31U;
        signal = signal || (reach >= 1 && bits(last) >= 4);
        side.beyond_1 = last & 15U;
    }
    if (rules.eight_in_row) {
        side.row = reach >= 0 ? side.row + 1 : 0;
        signal = signal || side.row >= 8;
    }
    return signal;
}

}  // namespace

double shewhart_run_length(double L, double shift) {
    return 1 / (normal_below(-L - shift) + normal_below(-L + shift));
}

double cusum_run_length(double k, double h, double shift, double start) {
    auto const nodes = gauss_legendre(nodes_for(h), 0, h);
    auto const n = static_cast<Eigen::Index>(nodes.at.size());
    // L(c) = 1 + L(0) P(next is 0 | c) + integral of L(y) f(y | c) dy; the last unknown is L(0).
    Eigen::MatrixXd A(n + 1, n + 1);
    for (Eigen::Index i = 0; i <= n; ++i) {
        double const c = i < n ? nodes.at[static_cast<std::size_t>(i)] : 0.0;
        for (Eigen::Index j = 0; j < n; ++j) {
            auto const q = static_cast<std::size_t>(j);
            A(i, j) =
                (i == j ? 1 : 0) - nodes.weight[q] * normal_density(nodes.at[q] - c + k - shift);
        }
        A(i, n) = (i == n ? 1 : 0) - normal_below(k - c - shift);
    }
    Eigen::VectorXd const L = A.partialPivLu().solve(Eigen::VectorXd::Ones(n + 1));
    if (start <= 0) return L(n);
    double answer = 1 + L(n) * normal_below(k - start - shift);
    for (Eigen::Index j = 0; j < n; ++j) {
        auto const q = static_cast<std::size_t>(j);
        answer += nodes.weight[q] * normal_density(nodes.at[q] - start + k - shift) * L(j);
    }
    return answer;
}

double cusum_two_sided_run_length(double k, double h, double shift, double start) {
    double const up = cusum_run_length(k, h, shift), down = cusum_run_length(k, h, -shift);
    if (start <= 0) return up * down / (up + down);
    double const up_from = cusum_run_length(k, h, shift, start),
                 down_from = cusum_run_length(k, h, -shift, start);
    return (up_from * down + down_from * up - up * down) / (up + down);
}

double ewma_run_length(double lambda, double L, double shift) {
    double const h = L * std::sqrt(lambda / (2 - lambda));
    // A step of the average has standard deviation lambda: the nodes must resolve that.
    auto const nodes = gauss_legendre(nodes_for(2 * h / lambda), -h, h);
    auto const n = static_cast<Eigen::Index>(nodes.at.size());
    auto const weight_to = [&](std::size_t q, double from) {
        return nodes.weight[q] / lambda *
               normal_density((nodes.at[q] - (1 - lambda) * from) / lambda - shift);
    };
    Eigen::MatrixXd A(n, n);
    for (Eigen::Index i = 0; i < n; ++i)
        for (Eigen::Index j = 0; j < n; ++j)
            A(i, j) = (i == j ? 1 : 0) -
                      weight_to(static_cast<std::size_t>(j), nodes.at[static_cast<std::size_t>(i)]);
    Eigen::VectorXd const length = A.partialPivLu().solve(Eigen::VectorXd::Ones(n));
    double answer = 1;
    for (Eigen::Index j = 0; j < n; ++j)
        answer += weight_to(static_cast<std::size_t>(j), 0) * length(j);
    return answer;
}

double run_rules_run_length(RunRules const& rules, double shift) {
    using State = std::array<Side, 2>;  // above, below
    std::map<State, Eigen::Index> number;
    std::vector<State> states;
    auto const index_of = [&](State const& state) {
        auto const [found, added] = number.emplace(state, static_cast<Eigen::Index>(states.size()));
        if (added) states.push_back(state);
        return found->second;
    };
    struct Step {
        Eigen::Index from, to;
        double probability;
    };
    std::vector<Step> steps;
    index_of(State{});
    for (std::size_t s = 0; s < states.size(); ++s)
        for (int zone = 1; zone + 1 < zones; ++zone) {  // the outermost zones end the run
            State next = states[s];
            bool const above = zone >= 4;
            int const reach = above ? zone - 4 : 3 - zone;
            bool const up = advance(next[0], above ? reach : -1, rules);
            bool const down = advance(next[1], above ? -1 : reach, rules);
            if (up || down) continue;
            steps.push_back(
                {static_cast<Eigen::Index>(s), index_of(next), zone_probability(zone, shift)});
        }
    auto const n = static_cast<Eigen::Index>(states.size());
    Eigen::MatrixXd A = Eigen::MatrixXd::Identity(n, n);
    for (auto const& step : steps) A(step.from, step.to) -= step.probability;
    return A.partialPivLu().solve(Eigen::VectorXd::Ones(n))(0);
}

double cusum_limit(double k, double run_length) {
    // Without a shift both sides are alike: the pair signals twice as often as one.
    return bisected(
        0.01, 40, run_length, [k](double h) { return 0.5 * cusum_run_length(k, h, 0); });
}

double ewma_limit(double lambda, double run_length) {
    return bisected(
        0.1, 6, run_length, [lambda](double L) { return ewma_run_length(lambda, L, 0); });
}

double shewhart_limit(double run_length) {
    return bisected(0.1, 7, run_length, [](double L) { return shewhart_run_length(L, 0); });
}

}  // namespace gw::metrology
