#include "metrology/control_chart.hpp"

#include <algorithm>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <limits>
#include <numbers>

#include "metrology/run_length.hpp"
#include "metrology/statistics.hpp"

namespace gw::metrology {

namespace {

// Running mean and sum of squares (Welford): one pass, no loss of digits on a large level.
struct Learned {
    std::size_t m = 0;
    double mean = 0, squares = 0;
    void add(double y) {
        ++m;
        double const d = y - mean;
        mean += d / static_cast<double>(m);
        squares += d * (y - mean);
    }
    [[nodiscard]] double sd() const {
        return m > 1 ? std::sqrt(squares / static_cast<double>(m - 1)) : 0;
    }
};

// The normal deviate of the same tail as t. Far out, or with many degrees of freedom, Wallace's
// (1959) closed form: within 0.001 of the deviate there, and a year of runs needs 10^5 of them.
double normal_deviate(double t, double df) {
    double const size = std::abs(t);
    double out = 0;
    if (df > 60 || size > 30) {
        out = std::sqrt(df * std::log1p(t * t / df)) * (8 * df + 1) / (8 * df + 3);
    } else {
        namespace bm = boost::math;
        double const upper = bm::cdf(bm::complement(bm::students_t_distribution<double>(df), size));
        out =
            upper > 0 ? bm::quantile(bm::complement(bm::normal_distribution<double>(), upper)) : 30;
    }
    return t < 0 ? -out : out;
}

// The same deviate for many readings judged by the same few: once a chart has signalled it learns
// no more, and a year is then judged with its degrees of freedom as they were. Between points 1/64
// apart the deviate is interpolated by cubics through its values and slopes (Hermite): the fourth
// power of 1/64 over 384 leaves less than 1e-9 (tested). Points are made as they are met.
class Deviates {
  public:
    double of(double t, double df) {
        double const size = std::abs(t);
        if (df > 60 || !(size < reach)) return normal_deviate(t, df);  // closed form
        if (df != df_) {
            df_ = df;
            points_.clear();
            return normal_deviate(t, df);
        }
        if (points_.empty()) points_.resize(static_cast<std::size_t>(reach / step) + 2);
        auto const i = static_cast<std::size_t>(size / step);
        auto const &a = point(i), &b = point(i + 1);
        double const x = size / step - static_cast<double>(i), y = 1 - x;
        double const u = y * y * ((1 + 2 * x) * a.u + x * step * a.slope) +
                         x * x * ((1 + 2 * y) * b.u - y * step * b.slope);
        return t < 0 ? -u : u;
    }

  private:
    static constexpr double step = 1.0 / 64, reach = 30;
    struct Point {
        double u{}, slope{};
        bool made = false;
    };
    Point const& point(std::size_t i) {
        auto& out = points_[i];
        if (out.made) return out;
        namespace bm = boost::math;
        double const t = step * static_cast<double>(i);
        out.u = normal_deviate(t, df_);
        // The same tail: density of t over density of the normal at its deviate.
        out.slope = bm::pdf(bm::students_t_distribution<double>(df_), t) /
                    bm::pdf(bm::normal_distribution<double>(), out.u);
        out.made = true;
        return out;
    }
    double df_ = -1;
    std::vector<Point> points_;
};

// Readings that differ in their last bits only have no scatter to judge by.
bool no_scatter(double sd, double mean) {
    return !(sd > 8 * std::numeric_limits<double>::epsilon() * std::abs(mean));
}

// Wild values among the first points, one after the other, while six are left.
void screen(std::span<double const> first, std::vector<ChartPoint>& points) {
    std::vector<std::size_t> left(first.size());
    for (std::size_t i = 0; i < left.size(); ++i) left[i] = i;
    while (left.size() > 6) {
        std::vector<double> values;
        for (auto const i : left) values.push_back(first[i]);
        auto const test = grubbs(values);
        if (!test.outlier) return;
        points[left[test.index]].set_aside = true;
        left.erase(left.begin() + static_cast<std::ptrdiff_t>(test.index));
    }
}

// Notes an excursion once, where it crosses; `began` moves along while the chart is quiet.
class Watch {
  public:
    explicit Watch(std::vector<ChartSignal>& signals) : signals_(signals) {}
    void see(std::size_t index, double value, double limit, int direction) {
        if (!(value > 0)) {
            began_ = index + 1;
            outside_ = false;
        }
        if (value > limit && !outside_) {
            signals_.push_back({index, std::min(began_, index), direction});
            outside_ = true;
        }
        if (value < 0.5 * limit) outside_ = false;
    }

  private:
    std::vector<ChartSignal>& signals_;
    std::size_t began_ = 0;
    bool outside_ = false;
};

void settle_state(Chart& chart) {
    bool const moved = !chart.ewma.empty() || !chart.cusum.empty();
    if (chart.change.kind == ChangeKind::drift)
        chart.state = ChartState::drift;
    else if (chart.change.kind == ChangeKind::step)
        chart.state = ChartState::step;
    else if (moved)
        chart.state = ChartState::shifted;
    else if (!chart.moving_range.empty())
        chart.state = ChartState::scatter;
    else if (!chart.individuals.empty() ||
             std::any_of(chart.points.begin(), chart.points.end(), [](ChartPoint const& p) {
                 return p.set_aside;
             }))
        chart.state = ChartState::outliers;
    else
        chart.state = ChartState::in_control;
}

}  // namespace

std::string_view name(ChartState state) {
    switch (state) {
        case ChartState::not_yet:
            return "not_yet";
        case ChartState::in_control:
            return "in_control";
        case ChartState::outliers:
            return "outliers";
        case ChartState::scatter:
            return "scatter";
        case ChartState::shifted:
            return "shifted";
        case ChartState::step:
            return "step";
        case ChartState::drift:
            return "drift";
    }
    return "";
}

ChartLimits chart_limits(double run_length, double lambda, double k) {
    ChartLimits out;
    out.run_length = run_length;
    out.individuals = shewhart_limit(run_length);
    // The range of two, over sqrt 2, is half-normal: the same probability on one side.
    out.moving_range = out.individuals;
    out.lambda = lambda;
    out.ewma = ewma_limit(lambda, run_length);
    out.k = k;
    out.cusum = cusum_limit(k, run_length);
    return out;
}

Chart control_chart(std::span<double const> time,
                    std::span<double const> values,
                    ChartLimits const& limits,
                    ChartOptions const& options) {
    Chart out;
    out.n = values.size();
    out.points.resize(out.n);
    std::size_t const learning = options.reference ? 0 : std::min(options.learning, out.n);
    out.needed = options.reference ? 1 : options.learning + 1;
    screen(values.first(learning), out.points);

    Learned learned;
    double range_sum = 0;
    std::size_t ranges = 0;
    std::optional<double> before;
    auto const learn = [&](double y) {
        learned.add(y);
        if (before) {
            range_sum += std::abs(y - *before);
            ++ranges;
        }
        before = y;
    };
    for (std::size_t i = 0; i < learning; ++i)
        if (!out.points[i].set_aside) learn(values[i]);

    double const edge = limits.ewma * std::sqrt(limits.lambda / (2 - limits.lambda));
    Watch ewma_up(out.ewma), ewma_down(out.ewma), cusum_up(out.cusum), cusum_down(out.cusum);
    double z = 0, up = 0, down = 0;
    Deviates deviates;
    std::optional<double> last_u;
    for (std::size_t i = learning; i < out.n; ++i) {
        auto& point = out.points[i];
        double const y = values[i];
        if (options.reference) {
            point.u = options.reference->sd > 0
                          ? (y - options.reference->mean) / options.reference->sd
                          : 0;
        } else if (no_scatter(learned.sd(), learned.mean)) {
            point.u = std::abs(y - learned.mean) > 1e-9 * std::abs(learned.mean)
                          ? std::copysign(30.0, y - learned.mean)
                          : 0;
        } else {
            auto const m = static_cast<double>(learned.m);
            point.u =
                deviates.of((y - learned.mean) / (learned.sd() * std::sqrt(1 + 1 / m)), m - 1);
        }
        point.judged = true;
        point.set_aside = std::abs(point.u) > limits.individuals;
        if (point.set_aside) out.individuals.push_back({i, i, point.u > 0 ? 1 : -1});
        if (last_u && !point.set_aside &&
            std::abs(point.u - *last_u) / std::numbers::sqrt2 > limits.moving_range)
            out.moving_range.push_back({i, i, 0});
        // The neighbour of a wild point has a wide range for no fault of its own.
        last_u = point.set_aside ? std::nullopt : std::optional(point.u);
        double const fed = std::clamp(point.u, -limits.individuals, limits.individuals);
        z = limits.lambda * fed + (1 - limits.lambda) * z;
        up = std::max(0.0, up + fed - limits.k);
        down = std::max(0.0, down - fed - limits.k);
        point.ewma = z;
        point.cusum_up = up;
        point.cusum_down = down;
        ewma_up.see(i, z, edge, 1);
        ewma_down.see(i, -z, edge, -1);
        cusum_up.see(i, up, limits.cusum, 1);
        cusum_down.see(i, down, limits.cusum, -1);
        // What lies just beyond the limit is learned from: leaving it out would make the scatter
        // look smaller and false alarms commoner, and that by itself the more.
        bool const wild = std::abs(point.u) > limits.individuals + 2;
        if (!wild && out.ewma.empty() && out.cusum.empty()) learn(y);
    }
    out.mean = options.reference ? options.reference->mean : learned.mean;
    out.sd = options.reference ? options.reference->sd : learned.sd();
    out.sigma_moving_range = ranges > 0 ? range_sum / static_cast<double>(ranges) / d2(2) : 0;
    if (out.n < out.needed) return out;

    std::vector<double> kept_time, kept;
    for (std::size_t i = 0; i < out.n; ++i) {
        bool const alone = out.points[i].set_aside && (i == 0 || !out.points[i - 1].set_aside) &&
                           (i + 1 == out.n || !out.points[i + 1].set_aside);
        if (alone && i + 1 < out.n) continue;  // two in a row, or the last: perhaps a new level
        kept_time.push_back(time[i]);
        kept.push_back(values[i]);
    }
    out.change = find_change(kept_time, kept, options.change);
    settle_state(out);
    return out;
}

std::vector<double> ewma(std::span<double const> values, double start, double lambda) {
    std::vector<double> out;
    out.reserve(values.size());
    double z = start;
    for (double const y : values) out.push_back(z = lambda * y + (1 - lambda) * z);
    return out;
}

Cusum cusum(std::span<double const> values, double mean, double K) {
    Cusum out;
    double up = 0, down = 0;
    for (double const y : values) {
        out.up.push_back(up = std::max(0.0, up + y - mean - K));
        out.down.push_back(down = std::max(0.0, down + mean - K - y));
    }
    return out;
}

double ewma_deviation(double lambda, std::size_t t) {
    return std::sqrt(lambda / (2 - lambda) *
                     (1 - std::pow(1 - lambda, 2 * static_cast<double>(t))));
}

double c4(std::size_t n) {
    auto const count = static_cast<double>(n);
    return std::sqrt(2 / (count - 1)) *
           std::exp(std::lgamma(0.5 * count) - std::lgamma(0.5 * (count - 1)));
}

double d2(std::size_t n) {
    // Mean range = integral of 1 - Phi^n - (1 - Phi)^n; the trapezoidal rule converges faster than
    // any power of the step on it.
    constexpr double step = 0.0625, reach = 9;
    auto const count = static_cast<double>(n);
    double sum = 0;
    for (int i = 0; i <= static_cast<int>(2 * reach / step); ++i) {
        double const below = 0.5 * std::erfc(-(-reach + i * step) / std::numbers::sqrt2);
        sum += 1 - std::pow(below, count) - std::pow(1 - below, count);
    }
    return sum * step;
}

}  // namespace gw::metrology
