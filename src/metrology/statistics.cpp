#include "metrology/statistics.hpp"

#include <algorithm>
#include <boost/math/distributions/beta.hpp>
#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/fisher_f.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <limits>

namespace gw::metrology {

namespace {

namespace bm = boost::math;
// NaN or infinity instead of an exception, and the same digits whatever the size of long double.
using Quiet = bm::policies::policy<bm::policies::domain_error<bm::policies::ignore_error>,
                                   bm::policies::pole_error<bm::policies::ignore_error>,
                                   bm::policies::overflow_error<bm::policies::ignore_error>,
                                   bm::policies::evaluation_error<bm::policies::ignore_error>,
                                   bm::policies::promote_double<false>>;

constexpr double not_a_number = std::numeric_limits<double>::quiet_NaN();
constexpr double infinite = std::numeric_limits<double>::infinity();

bool is_probability(double p) { return p > 0 && p < 1; }

/// Student's t exceeded with probability `upper`: small tails keep their digits, 1 - upper would
/// not.
double t_exceeded(double upper, double df) {
    return bm::quantile(bm::complement(bm::students_t_distribution<double, Quiet>(df), upper));
}

double normal_cdf(double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); }

}  // namespace

double mean(std::span<double const> values) {
    if (values.empty()) return 0.0;
    auto const n = static_cast<double>(values.size());
    double sum = 0.0;
    for (double const x : values) sum += x;
    double const first = sum / n;
    double rest = 0.0;  // what rounding took from the first pass
    for (double const x : values) rest += x - first;
    return first + rest / n;
}

double standard_deviation(std::span<double const> values) {
    if (values.size() < 2) return 0.0;
    auto const n = static_cast<double>(values.size());
    double const m = mean(values);
    double squares = 0.0, rest = 0.0;
    for (double const x : values) {
        squares += (x - m) * (x - m);
        rest += x - m;
    }
    return std::sqrt(std::max(squares - rest * rest / n, 0.0) / (n - 1));
}

double median(std::vector<double> values) {
    if (values.empty()) return 0.0;
    auto const middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    if (values.size() % 2 == 1) return *middle;
    return 0.5 * (*middle + *std::max_element(values.begin(), middle));
}

double student_t(double probability, double df) {
    if (!is_probability(probability) || !(df > 0)) return not_a_number;
    return bm::quantile(bm::students_t_distribution<double, Quiet>(df), probability);
}

double f_quantile(double probability, double numerator_df, double denominator_df) {
    if (!is_probability(probability) || !(numerator_df > 0) || !(denominator_df > 0))
        return not_a_number;
    return bm::quantile(bm::fisher_f_distribution<double, Quiet>(numerator_df, denominator_df),
                        probability);
}

double chi_squared_quantile(double probability, double df) {
    if (!is_probability(probability) || !(df > 0)) return not_a_number;
    return bm::quantile(bm::chi_squared_distribution<double, Quiet>(df), probability);
}

double normal_quantile(double probability) {
    if (!is_probability(probability)) return not_a_number;
    return bm::quantile(bm::normal_distribution<double, Quiet>(), probability);
}

double coverage_factor(double k, double df) {
    if (!(df > 0) || !std::isfinite(df) || !(k > 0)) return k;
    double const upper = 0.5 * std::erfc(k / std::sqrt(2.0));
    return t_exceeded(upper, df);
}

double effective_degrees_of_freedom(std::span<double const> u, std::span<double const> df) {
    double variance = 0.0, denominator = 0.0;
    for (std::size_t i = 0; i < u.size(); ++i) {
        double const v = u[i] * u[i];
        variance += v;
        if (i < df.size() && df[i] > 0 && std::isfinite(df[i])) denominator += v * v / df[i];
    }
    return denominator > 0 ? variance * variance / denominator : 0.0;
}

double normalised_error(double x, double U_x, double reference, double U_reference) {
    return (x - reference) / std::hypot(U_x, U_reference);
}

double grubbs_critical(std::size_t n, double alpha, bool two_sided) {
    if (n < 3) return infinite;
    if (!is_probability(alpha)) return not_a_number;
    auto const count = static_cast<double>(n);
    double const t = t_exceeded(alpha / (two_sided ? 2 * count : count), count - 2);
    return (count - 1) / std::sqrt(count) * std::sqrt(t * t / (count - 2 + t * t));
}

Grubbs grubbs(std::span<double const> values) {
    Grubbs out;
    if (values.size() < 3) return out;
    double const m = mean(values), s = standard_deviation(values);
    out.critical_5 = grubbs_critical(values.size(), 0.05, true);
    out.critical_1 = grubbs_critical(values.size(), 0.01, true);
    // Equal readings differ by rounding alone; a spread of a few last bits is no spread.
    if (!(s > 4 * std::numeric_limits<double>::epsilon() * std::abs(m))) return out;
    for (std::size_t i = 0; i < values.size(); ++i)
        if (double const g = std::abs(values[i] - m) / s; g > out.statistic) {
            out.statistic = g;
            out.index = i;
        }
    out.outlier = out.statistic > out.critical_1;
    out.straggler = !out.outlier && out.statistic > out.critical_5;
    return out;
}

double cochran_critical(std::size_t groups, std::size_t n, double alpha) {
    if (groups < 2 || n < 2) return 1.0;
    if (!is_probability(alpha)) return not_a_number;
    auto const p = static_cast<double>(groups);
    double const nu = static_cast<double>(n) - 1;
    // One variance's share of the sum of p follows a beta law; F/(F + p - 1) of the tables is the
    // same.
    bm::beta_distribution<double, Quiet> const share(0.5 * nu, 0.5 * (p - 1) * nu);
    return bm::quantile(bm::complement(share, alpha / p));
}

double critical_range_factor(std::size_t n) {
    if (n < 2) return 0.0;
    // P(range <= w) = n integral phi(z) [Phi(z + w) - Phi(z)]^(n-1) dz. The trapezoidal rule
    // converges faster than any power of the step on so smooth and so quickly vanishing an
    // integrand.
    auto const probability = [n](double w) {
        constexpr double step = 0.0625, edge = 9.0;
        double const norm = 1.0 / std::sqrt(2.0 * std::acos(-1.0));
        double sum = 0.0;
        for (int i = 0; i <= static_cast<int>(2 * edge / step); ++i) {
            double const z = -edge + i * step;
            double const inside = normal_cdf(z + w) - normal_cdf(z);
            sum += norm * std::exp(-0.5 * z * z) * std::pow(inside, static_cast<double>(n - 1));
        }
        return static_cast<double>(n) * sum * step;
    };
    double low = 0.0, high = 20.0;  // 20 sigma: reached by no n that fits in memory
    while (high - low > 1e-10) {
        double const middle = 0.5 * (low + high);
        (probability(middle) < 0.95 ? low : high) = middle;
    }
    return 0.5 * (low + high);
}

}  // namespace gw::metrology
