#include "metrology/change_point.hpp"

#include <algorithm>
#include <boost/math/distributions/fisher_f.hpp>
#include <cmath>
#include <limits>
#include <vector>

#include "base/random.hpp"
#include "metrology/statistics.hpp"

namespace gw::metrology {

namespace {

constexpr std::size_t least_each_side = 3;
constexpr double step_ratio_95 = 7.35;  // -2 ln(1 - sqrt 0.95)

// Sums over the points from each index on, of times and values about their middles.
class Series {
  public:
    Series(std::span<double const> time, std::span<double const> values)
        : n_(time.size()), t_(time.begin(), time.end()), count_(static_cast<double>(n_)) {
        double const middle = mean(time);
        origin_ = middle;
        scale_ = std::max(std::abs(time.back() - middle), std::abs(time.front() - middle));
        for (double& t : t_) t = (t - middle) / scale_;
        t1_.assign(n_ + 1, 0);
        t2_.assign(n_ + 1, 0);
        for (std::size_t i = n_; i-- > 0;) {
            t1_[i] = t1_[i + 1] + t_[i];
            t2_[i] = t2_[i + 1] + t_[i] * t_[i];
        }
        set(values);
    }

    // Other values at the same times.
    void set(std::span<double const> values) {
        level_ = mean(values);
        y_.assign(n_ + 1, 0);
        ty_.assign(n_ + 1, 0);
        squares_ = 0;
        for (std::size_t i = n_; i-- > 0;) {
            double const y = values[i] - level_;
            y_[i] = y_[i + 1] + y;
            ty_[i] = ty_[i + 1] + t_[i] * y;
            squares_ += y * y;
        }
    }

    [[nodiscard]] std::size_t size() const { return n_; }
    [[nodiscard]] double level() const { return level_; }
    [[nodiscard]] double squares() const { return squares_; }
    [[nodiscard]] double t(std::size_t i) const { return t_[i]; }
    [[nodiscard]] double time(double t) const { return origin_ + scale_ * t; }
    [[nodiscard]] double scale() const { return scale_; }

    struct Fit {
        double sum_of_squares{}, height{}, u_factor{};  // height: jump, or slope; of scaled time
    };
    // Points from `first` on lie higher by `height`.
    [[nodiscard]] Fit step(std::size_t first) const {
        auto const m = static_cast<double>(n_ - first);
        double const Sxx = m - m * m / count_;
        return fitted(Sxx, y_[first]);
    }
    // From t = onset on the values grow; `first` is the first point at or after it.
    [[nodiscard]] Fit drift(double onset, std::size_t first) const {
        auto const m = static_cast<double>(n_ - first);
        double const Sx = t1_[first] - onset * m;
        double const Sxx =
            t2_[first] - 2 * onset * t1_[first] + onset * onset * m - Sx * Sx / count_;
        return fitted(Sxx, ty_[first] - onset * y_[first]);
    }
    [[nodiscard]] double mean_of_ramp(double onset, std::size_t first) const {
        return (t1_[first] - onset * static_cast<double>(n_ - first)) / count_;
    }

  private:
    [[nodiscard]] Fit fitted(double Sxx, double Sxy) const {
        if (!(Sxx > 1e-12)) return {squares_, 0, std::numeric_limits<double>::infinity()};
        double const height = Sxy / Sxx;
        return {std::max(squares_ - height * Sxy, 0.0), height, 1 / std::sqrt(Sxx)};
    }

    std::size_t n_;
    std::vector<double> t_;
    double count_, origin_{}, scale_ = 1, level_{}, squares_{};
    std::vector<double> t1_, t2_, y_, ty_;
};

// The least sum of squares of either model, on the points' own times.
struct Best {
    std::size_t step = least_each_side, drift = 0;
    double step_squares = std::numeric_limits<double>::infinity(),
           drift_squares = std::numeric_limits<double>::infinity();
    [[nodiscard]] double squares() const { return std::min(step_squares, drift_squares); }
};
Best best(Series const& series) {
    Best out;
    std::size_t const n = series.size();
    for (std::size_t i = least_each_side; i + least_each_side <= n; ++i)
        if (double const s = series.step(i).sum_of_squares; s < out.step_squares) {
            out.step_squares = s;
            out.step = i;
        }
    for (std::size_t i = 0; i + least_each_side <= n; ++i)
        if (double const s = series.drift(series.t(i), i).sum_of_squares; s < out.drift_squares) {
            out.drift_squares = s;
            out.drift = i;
        }
    return out;
}

// How much better a model with one parameter more than the level fits: F with 1 and n - 2 degrees
// of freedom if its date had been known.
double improvement(double squares, double left, std::size_t n) {
    if (!(left > 0)) return squares > 0 ? std::numeric_limits<double>::infinity() : 0;
    return (squares - left) / left * static_cast<double>(n - 2);
}

double f_exceeded(double f, double df) {
    if (!(f > 0)) return 1;
    if (!std::isfinite(f)) return 0;
    return boost::math::cdf(
        boost::math::complement(boost::math::fisher_f_distribution<double>(1, df), f));
}

// The share of series without change that look at least as changed. Where fewer than ten do, the
// tail is carried on with the law of F times the number of independent looks that fits there.
double p_value(Series series, double found, ChangeOptions const& options) {
    std::size_t const n = series.size();
    // One look alone is never rarer than the best of many: most quiet series are done with here.
    // The number of looks is rough (fitted to simulations of 10 to 400 points).
    if (double const one_look = f_exceeded(found, static_cast<double>(n) - 2);
        one_look > options.significance) {
        double const looks = 8 * std::log(static_cast<double>(n) / 5.5);
        return std::clamp(looks * one_look, options.significance, 1.0);
    }
    std::vector<double> null, values(n);
    for (std::size_t trial = 0; trial < options.trials; ++trial) {
        RandomStream random(options.seed, trial);
        for (double& v : values) v = random.normal();
        series.set(values);
        null.push_back(improvement(series.squares(), best(series).squares(), n));
    }
    std::sort(null.begin(), null.end());
    auto const above =
        static_cast<double>(null.end() - std::lower_bound(null.begin(), null.end(), found));
    auto const trials = static_cast<double>(options.trials);
    double const simulated = (above + 1) / (trials + 1);
    constexpr double too_few_to_count = 10;
    if (above >= too_few_to_count) return simulated;
    double const df = static_cast<double>(n) - 2;
    double const at_5 = null[static_cast<std::size_t>(0.95 * trials)];
    // Further out the looks grow as F: the tail of a maximum over dates has a factor of its square
    // root twice over (James, James and Siegmund 1987, Biometrika 74; from memory).
    double const looks = 0.05 / std::max(f_exceeded(at_5, df), 1e-300) * found / at_5;
    return std::min(looks * f_exceeded(found, df), too_few_to_count / trials);
}

double neighbour_correlation(std::vector<double> const& residuals) {
    double product = 0, squares = 0;
    for (std::size_t i = 0; i < residuals.size(); ++i) {
        squares += residuals[i] * residuals[i];
        if (i > 0) product += residuals[i] * residuals[i - 1];
    }
    return squares > 0 ? product / squares : 0;
}

void averaged(std::span<double const> time,
              std::span<double const> values,
              std::size_t blocks,
              std::vector<double>& t,
              std::vector<double>& y) {
    std::size_t const n = std::min(time.size(), std::max(blocks, change_least_points));
    for (std::size_t b = 0; b < n; ++b) {
        std::size_t const from = b * time.size() / n, to = (b + 1) * time.size() / n;
        t.push_back(mean(time.subspan(from, to - from)));
        y.push_back(mean(values.subspan(from, to - from)));
    }
}

std::size_t first_at(Series const& series, double onset) {
    std::size_t i = 0;
    while (i < series.size() && series.t(i) < onset) ++i;
    return i;
}

void fill_step(Series const& series, Best const& best, double inflation, Change& out) {
    std::size_t const n = series.size();
    auto const fit = series.step(best.step);
    double const variance = inflation * fit.sum_of_squares / static_cast<double>(n - 2);
    auto& m = out.step;
    m.sum_of_squares = fit.sum_of_squares;
    m.size = fit.height;
    m.u_size = fit.u_factor * std::sqrt(variance);
    m.at = series.time(0.5 * (series.t(best.step - 1) + series.t(best.step)));
    std::size_t low = best.step, high = best.step;
    for (std::size_t i = 1; i < n; ++i) {
        double const ratio = series.step(i).sum_of_squares /
                             std::max(fit.sum_of_squares, std::numeric_limits<double>::min());
        if (static_cast<double>(n) * std::log(ratio) > step_ratio_95 * inflation) continue;
        low = std::min(low, i);
        high = std::max(high, i);
    }
    m.from = series.time(series.t(low - 1));
    m.to = series.time(series.t(high));
}

void fill_drift(Series const& series, Best const& best, double inflation, Change& out) {
    std::size_t const n = series.size();
    // Between points the sum of squares is smooth: a fine walk about the best point finds its foot.
    double onset = series.t(best.drift);
    double const first = series.t(0), last = series.t(n - least_each_side);
    auto const squares_at = [&](double t) {
        return series.drift(t, first_at(series, t)).sum_of_squares;
    };
    double const left = best.drift > 0 ? series.t(best.drift - 1) : first;
    double const right = std::min(series.t(std::min(best.drift + 1, n - 1)), last);
    double least = squares_at(onset);
    for (int i = 0; i <= 40; ++i) {
        double const t = left + (right - left) * i / 40.0;
        if (double const s = squares_at(t); s < least) {
            least = s;
            onset = t;
        }
    }
    std::size_t const from = first_at(series, onset);
    auto const fit = series.drift(onset, from);
    double const variance = inflation * fit.sum_of_squares / static_cast<double>(n - 3);
    auto& m = out.drift;
    m.sum_of_squares = fit.sum_of_squares;
    m.at = series.time(onset);
    m.slope = fit.height / series.scale();
    double const length = series.t(n - 1) - onset;
    m.size = fit.height * length;
    double const bound =
        fit.sum_of_squares + variance * f_quantile(0.95, 1, static_cast<double>(n) - 3);
    double low = onset, high = onset, low_size = m.size, high_size = m.size;
    auto const look = [&](double t) {
        auto const here = series.drift(t, first_at(series, t));
        if (here.sum_of_squares > bound) return;
        double const size = here.height * (series.t(n - 1) - t);
        low_size = std::min(low_size, size);
        high_size = std::max(high_size, size);
        low = std::min(low, t);
        high = std::max(high, t);
    };
    for (std::size_t i = 0; i + 1 < n; ++i)
        for (int part = 0; part < 4; ++part)
            look(series.t(i) + (series.t(i + 1) - series.t(i)) * part / 4.0);
    m.from = series.time(low);
    m.to = series.time(high);
    // The end of the line, the onset not being known: half the spread of sizes that the onset
    // allows at 95 %, with what scatter alone makes of it.
    double const of_scatter = fit.u_factor * std::sqrt(variance) * length;
    m.u_size = std::hypot(of_scatter, (high_size - low_size) / (2 * 1.96));
}

}  // namespace

std::string_view name(ChangeKind kind) {
    switch (kind) {
        case ChangeKind::none:
            return "none";
        case ChangeKind::step:
            return "step";
        case ChangeKind::drift:
            return "drift";
    }
    return "";
}

Change find_change(std::span<double const> time,
                   std::span<double const> values,
                   ChangeOptions const& options) {
    Change out;
    out.before = mean(values);
    out.points = values.size();
    if (values.size() < change_least_points || !(time.back() > time.front())) return out;
    out.enough = true;
    std::vector<double> t, y;
    averaged(time, values, options.blocks, t, y);
    std::size_t const n = out.points = t.size();
    Series const series(t, y);
    // Equal readings, or a spread of a few last bits, hold no change.
    double const smallest = 4 * std::numeric_limits<double>::epsilon() * std::abs(series.level());
    if (!(std::sqrt(series.squares() / static_cast<double>(n)) > smallest)) return out;
    auto const found = best(series);
    bool const drifting = found.drift_squares < found.step_squares;

    std::vector<double> residuals;
    auto const fit =
        drifting ? series.drift(series.t(found.drift), found.drift) : series.step(found.step);
    for (std::size_t i = 0; i < n; ++i) {
        double const ramp = drifting ? std::max(0.0, series.t(i) - series.t(found.drift))
                                     : (i >= found.step ? 1.0 : 0.0);
        residuals.push_back(y[i] - fit.height * ramp);
    }
    double const foot = mean(residuals);
    for (double& r : residuals) r -= foot;
    out.correlation = neighbour_correlation(residuals);
    double const notable = 2 / std::sqrt(static_cast<double>(n));
    double const r = out.correlation > notable ? std::min(out.correlation, 0.95) : 0;
    double const inflation = (1 + r) / (1 - r);

    fill_step(series, found, inflation, out);
    fill_drift(series, found, inflation, out);
    out.p_value =
        p_value(series, improvement(series.squares(), found.squares(), n) / inflation, options);
    if (out.p_value < options.significance) {
        out.kind = drifting ? ChangeKind::drift : ChangeKind::step;
        out.before = foot;
    }
    return out;
}

}  // namespace gw::metrology
