// Average run lengths of the control charts, by integral equation or Markov chain.
#include <fmt/format.h>

#include <Eigen/LU>
#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>

#include "metrology/control_chart.hpp"
#include "metrology/statistics.hpp"

namespace gw::metrology {

namespace {

double density(double z) { return std::exp(-0.5 * z * z) / std::sqrt(2 * std::numbers::pi); }
double below(double z) { return 0.5 * std::erfc(-z / std::numbers::sqrt2); }

// Gauss-Legendre nodes and weights on [-1, 1] by Newton's steps on the polynomial.
struct Nodes {
    std::vector<double> x, w;
};
Nodes legendre(int n) {
    Nodes out;
    for (int i = 0; i < n; ++i) {
        double x = std::cos(std::numbers::pi * (i + 0.75) / (n + 0.5)), slope = 1;
        for (int step = 0; step < 100; ++step) {
            double p = 1, before = 0;
            for (int k = 1; k <= n; ++k) {
                double const next = ((2 * k - 1) * x * p - (k - 1) * before) / k;
                before = p;
                p = next;
            }
            slope = n * (x * p - before) / (x * x - 1);
            double const dx = p / slope;
            x -= dx;
            if (std::abs(dx) < 1e-15) break;
        }
        out.x.push_back(x);
        out.w.push_back(2 / ((1 - x * x) * slope * slope));
    }
    return out;
}

constexpr int order = 60;  // smooth kernels: far beyond the digits of any table

// Searches a rising function for the limit that gives the wanted run length.
template <class F>
double limit_for(F&& run_length, double wanted, double low, double high) {
    for (int i = 0; i < 60; ++i) {
        double const middle = 0.5 * (low + high);
        (run_length(middle) < wanted ? low : high) = middle;
    }
    return 0.5 * (low + high);
}

Result<> check_run_length(double wanted) {
    if (wanted >= 5 && wanted <= 1e6) return {};
    return fail(Errc::out_of_range,
                fmt::format("A run length of {:.4g} readings is not offered.", wanted),
                "--run-length",
                "give 5 to 1000000");
}

}  // namespace

double shewhart_run_length(double limit, double shift) {
    return 1 / (below(-limit - shift) + below(-limit + shift));
}

double cusum_run_length_one_sided(double k, double h, double shift, double head_start) {
    // L(u) = 1 + L(0) P(z <= k - u - shift) + integral over (0, h) of L(x) phi(x + k - u - shift)
    static Nodes const nodes = legendre(order);
    Eigen::MatrixXd A(order + 1, order + 1);
    auto const at = [&](int i) {
        return i == order ? 0.0 : 0.5 * h * (nodes.x[static_cast<std::size_t>(i)] + 1);
    };
    auto const kernel = [&](double u, int j) {
        return 0.5 * h * nodes.w[static_cast<std::size_t>(j)] * density(at(j) + k - u - shift);
    };
    for (int i = 0; i <= order; ++i) {
        for (int j = 0; j < order; ++j) A(i, j) = (i == j ? 1.0 : 0.0) - kernel(at(i), j);
        A(i, order) = (i == order ? 1.0 : 0.0) - below(k - at(i) - shift);
    }
    Eigen::VectorXd const L = A.partialPivLu().solve(Eigen::VectorXd::Ones(order + 1));
    double out = 1 + L(order) * below(k - head_start - shift);
    for (int j = 0; j < order; ++j) out += kernel(head_start, j) * L(j);
    return out;
}

double cusum_run_length(double k, double h, double shift, double head_start) {
    double const up = cusum_run_length_one_sided(k, h, shift, 0);
    double const down = cusum_run_length_one_sided(k, h, -shift, 0);
    if (head_start <= 0) return 1 / (1 / up + 1 / down);
    // With a head start s on both sides (Lucas and Crosier 1982): while one side is above zero the
    // other returns there first, so that ARL = (L+(s) L-(0) + L-(s) L+(0) - L+(0) L-(0)) / (L+(0) +
    // L-(0)).
    double const up_s = cusum_run_length_one_sided(k, h, shift, head_start);
    double const down_s = cusum_run_length_one_sided(k, h, -shift, head_start);
    return (up_s * down + down_s * up - up * down) / (up + down);
}

double ewma_run_length(double lambda, double L, double shift) {
    static Nodes const nodes = legendre(order);
    double const h = L * std::sqrt(lambda / (2 - lambda));
    Eigen::MatrixXd A(order, order);
    auto const kernel = [&](double u, std::size_t j) {
        double const x = h * nodes.x[j];
        return h * nodes.w[j] / lambda * density((x - (1 - lambda) * u) / lambda - shift);
    };
    for (int i = 0; i < order; ++i)
        for (int j = 0; j < order; ++j)
            A(i, j) = (i == j ? 1.0 : 0.0) -
                      kernel(h * nodes.x[static_cast<std::size_t>(i)], static_cast<std::size_t>(j));
    Eigen::VectorXd const run = A.partialPivLu().solve(Eigen::VectorXd::Ones(order));
    double out = 1;
    for (int j = 0; j < order; ++j) out += kernel(0, static_cast<std::size_t>(j)) * run(j);
    return out;
}

namespace {

// Zones of one reading: beyond 2 (or 1) sigma above or below, else its side of the centre.
struct Zones {
    std::array<double, 2> warned;  // P(between warning and action), above and below
    std::array<double, 2> calm;    // P(between centre and warning), above and below
};
Zones zones_of(double warning, double shift) {
    auto const between = [&](double a, double b) { return below(b - shift) - below(a - shift); };
    return {{between(warning, 3), between(-3, -warning)},
            {between(0, warning), between(-warning, 0)}};
}

// Expected steps to the signal of a chain given by its transitions between quiet states.
template <class State, class Next>
double expected_steps(State const& start, Next&& next) {
    std::map<State, int> index{{start, 0}};
    std::vector<State> states{start};
    std::vector<std::vector<std::pair<State, double>>> moves;
    for (std::size_t i = 0; i < states.size(); ++i) {
        moves.push_back(next(states[i]));
        for (auto const& [state, p] : moves.back())
            if (index.emplace(state, static_cast<int>(states.size())).second)
                states.push_back(state);
    }
    auto const n = static_cast<Eigen::Index>(states.size());
    Eigen::MatrixXd A = Eigen::MatrixXd::Identity(n, n);
    for (std::size_t i = 0; i < states.size(); ++i)
        for (auto const& [state, p] : moves[i])
            A(static_cast<Eigen::Index>(i), index.at(state)) -= p;
    return A.partialPivLu().solve(Eigen::VectorXd::Ones(n))(0);
}

int ones(unsigned bits) {
    int n = 0;
    for (; bits != 0; bits &= bits - 1) ++n;
    return n;
}

// m of the last `window` readings beyond the warning limit on one side. The memory of either side
// is the last window - 1 readings.
double m_of_window(double warning, int m, int window, double shift) {
    auto const z = zones_of(warning, shift);
    using State = std::pair<unsigned, unsigned>;
    unsigned const mask = (1U << static_cast<unsigned>(window - 1)) - 1;
    auto const next = [&](State const& s) {
        std::vector<std::pair<State, double>> out;
        auto const step = [&](unsigned a, unsigned b, double p) {
            unsigned const high = s.first << 1U | a, low = s.second << 1U | b;
            if (ones(high) >= m || ones(low) >= m) return;  // a signal
            out.push_back({{high & mask, low & mask}, p});
        };
        step(1, 0, z.warned[0]);
        step(0, 1, z.warned[1]);
        step(0, 0, z.calm[0] + z.calm[1]);
        return out;
    };
    return expected_steps(State{0, 0}, next);
}

double eight_in_a_row(double shift) {
    auto const z = zones_of(3, shift);
    auto const next = [&](int s) {  // s > 0: so many above in a row; s < 0: below
        std::vector<std::pair<int, double>> out;
        int const up = s > 0 ? s + 1 : 1, down = s < 0 ? s - 1 : -1;
        if (up < 8) out.emplace_back(up, z.calm[0]);
        if (down > -8) out.emplace_back(down, z.calm[1]);
        return out;
    };
    return expected_steps(0, next);
}

}  // namespace

double run_rules_run_length(RunRule rule, double shift) {
    switch (rule) {
        case RunRule::three_sigma:
            break;
        case RunRule::and_two_of_three:
            return m_of_window(2, 2, 3, shift);
        case RunRule::and_four_of_five:
            return m_of_window(1, 4, 5, shift);
        case RunRule::and_eight_in_a_row:
            return eight_in_a_row(shift);
    }
    return shewhart_run_length(3, shift);
}

Result<double> cusum_limit_for(double k, double run_length) {
    GW_CHECK(check_run_length(run_length));
    if (!(k >= 0.1 && k <= 2))
        return fail(Errc::out_of_range, "The allowance k is from 0.1 to 2 sigma.", "--k");
    return limit_for([k](double h) { return cusum_run_length(k, h, 0); }, run_length, 0.05, 25);
}

Result<double> ewma_limit_for(double lambda, double run_length) {
    GW_CHECK(check_run_length(run_length));
    if (!(lambda >= 0.02 && lambda <= 1))
        return fail(Errc::out_of_range, "The weight lambda is from 0.02 to 1.", "--lambda");
    if (lambda > 0.9)  // the kernel becomes a spike; at 1 it is the plain chart
        return limit_for([](double L) { return shewhart_run_length(L, 0); }, run_length, 0.1, 6);
    return limit_for(
        [lambda](double L) { return ewma_run_length(lambda, L, 0); }, run_length, 0.1, 6);
}

}  // namespace gw::metrology
