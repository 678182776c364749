#include "metrology/settling.hpp"

#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <Eigen/QR>
#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <numbers>
#include <numeric>

#include "base/random.hpp"
#include "metrology/statistics.hpp"

namespace gw::metrology {

namespace {

using Eigen::Index;
using Matrix = Eigen::MatrixXd;
using Vector = Eigen::VectorXd;

constexpr std::size_t least_readings = 8;
constexpr double largest_tau = 12;  // spans of the record: beyond, an approach looks straight

// Readings with time counted from the first one, in spans of the record.
struct Record {
    std::vector<double> t, y;
    double span = 1;
    [[nodiscard]] Index n() const { return static_cast<Index>(t.size()); }
};

// A model is a constant plus columns that depend on its shape parameters (logarithms of times).
enum class Shape { constant, line, one, two, swing, one_and_line };
std::size_t columns_of(Shape shape) {
    switch (shape) {
        case Shape::constant:
            return 0;
        case Shape::line:
        case Shape::one:
            return 1;
        case Shape::two:
        case Shape::swing:
        case Shape::one_and_line:
            return 2;
    }
    return 0;
}

struct Parameters {
    std::array<double, 2> p{};  // ln tau, then ln tau2 or ln of the angular frequency
};

void columns(Shape shape, Parameters const& q, double t, double* out) {
    double const decay = std::exp(-t / std::exp(q.p[0]));
    switch (shape) {
        case Shape::constant:
            break;
        case Shape::line:
            out[0] = t;
            break;
        case Shape::one:
            out[0] = decay;
            break;
        case Shape::two:
            out[0] = decay;
            out[1] = std::exp(-t / std::exp(q.p[1]));
            break;
        case Shape::swing: {
            double const w = std::exp(q.p[1]);
            out[0] = decay * std::cos(w * t);
            out[1] = decay * std::sin(w * t);
            break;
        }
        case Shape::one_and_line:
            out[0] = decay;
            out[1] = t;
            break;
    }
}

struct Linear {
    double rss = 0;
    Vector c;     // constant first
    Matrix root;  // R^-1: covariance of c over variance is root root'
    double log_det = 0;
};

Linear linear_fit(Record const& r, Shape shape, Parameters const& q, bool whole) {
    auto const m = static_cast<Index>(columns_of(shape));
    Matrix A(r.n(), m + 1);
    std::array<double, 2> each{};
    for (Index i = 0; i < r.n(); ++i) {
        columns(shape, q, r.t[static_cast<std::size_t>(i)], each.data());
        A(i, 0) = 1;
        for (Index k = 0; k < m; ++k) A(i, k + 1) = each[static_cast<std::size_t>(k)];
    }
    Eigen::Map<Vector const> const y(r.y.data(), r.n());
    Eigen::HouseholderQR<Matrix> const qr(A);
    Linear out;
    out.c = qr.solve(y);
    out.rss = (y - A * out.c).squaredNorm();
    Matrix const R = qr.matrixQR().topRows(m + 1).triangularView<Eigen::Upper>();
    out.log_det = 0;
    for (Index k = 0; k <= m; ++k) out.log_det += 2 * std::log(std::max(std::abs(R(k, k)), 1e-150));
    if (whole) out.root = R.triangularView<Eigen::Upper>().solve(Matrix::Identity(m + 1, m + 1));
    return out;
}

struct Fit {
    Shape shape = Shape::constant;
    Parameters q;
    Linear linear;
    double bic = 0;
    [[nodiscard]] std::size_t parameters() const {
        std::size_t const shape_parameters = shape == Shape::one || shape == Shape::one_and_line ? 1
                                             : shape == Shape::two || shape == Shape::swing      ? 2
                                                                                            : 0;
        return 1 + columns_of(shape) + shape_parameters;
    }
};

// Least residual that can be told from rounding.
double floor_of(Record const& r) {
    auto const [low, high] = std::minmax_element(r.y.begin(), r.y.end());
    double const size = std::max({*high - *low, 1e-7 * std::abs(*high), 1e-300});
    return static_cast<double>(r.t.size()) * std::pow(1e-7 * size, 2);
}

void finish(Record const& r, Fit& fit) {
    fit.linear = linear_fit(r, fit.shape, fit.q, true);
    auto const n = static_cast<double>(r.n());
    fit.bic = n * std::log((fit.linear.rss + floor_of(r)) / n) +
              static_cast<double>(fit.parameters()) * std::log(n);
}

double rss_at(Record const& r, Shape shape, Parameters const& q) {
    return linear_fit(r, shape, q, false).rss;
}

// Nelder-Mead with a box; one or two parameters, started where a grid was lowest.
Parameters minimise(std::function<double(Parameters const&)> const& f,
                    Parameters start,
                    std::size_t dimensions,
                    double step) {
    std::vector<std::pair<double, Parameters>> corner;
    corner.emplace_back(f(start), start);
    for (std::size_t d = 0; d < dimensions; ++d) {
        auto q = start;
        q.p[d] += step;
        corner.emplace_back(f(q), q);
    }
    auto const less = [](auto const& a, auto const& b) { return a.first < b.first; };
    auto const along = [&](Parameters const& from, Parameters const& to, double by) {
        Parameters out = from;
        for (std::size_t d = 0; d < dimensions; ++d) out.p[d] += by * (to.p[d] - from.p[d]);
        return out;
    };
    for (int i = 0; i < 200; ++i) {
        std::sort(corner.begin(), corner.end(), less);
        double size = 0;
        for (std::size_t d = 0; d < dimensions; ++d)
            for (auto const& c : corner)
                size = std::max(size, std::abs(c.second.p[d] - corner.front().second.p[d]));
        if (size < 1e-7) break;
        Parameters middle{};
        for (std::size_t k = 0; k + 1 < corner.size(); ++k)
            for (std::size_t d = 0; d < dimensions; ++d)
                middle.p[d] += corner[k].second.p[d] / static_cast<double>(dimensions);
        auto& worst = corner.back();
        auto const mirrored = along(worst.second, middle, 2);
        double const at = f(mirrored);
        if (at < corner.front().first) {
            auto const further = along(worst.second, middle, 3);
            double const far = f(further);
            worst = far < at ? std::make_pair(far, further) : std::make_pair(at, mirrored);
        } else if (at < corner[corner.size() - 2].first) {
            worst = {at, mirrored};
        } else {
            auto const inside = along(worst.second, middle, 0.5);
            double const near = f(inside);
            if (near < worst.first) {
                worst = {near, inside};
            } else {
                for (std::size_t k = 1; k < corner.size(); ++k) {
                    corner[k].second = along(corner.front().second, corner[k].second, 0.5);
                    corner[k].first = f(corner[k].second);
                }
            }
        }
    }
    return std::min_element(corner.begin(), corner.end(), less)->second;
}

// Time is in spans of the record: ln tau runs from the step between readings to `largest_tau`.
struct Bounds {
    double low, high;
};
Bounds bounds_of(Record const& r) {
    return {std::log(0.7 / static_cast<double>(r.t.size())), std::log(largest_tau)};
}

Fit best_fit(Record const& r, Shape shape) {
    Fit out;
    out.shape = shape;
    auto const box = bounds_of(r);
    double const fastest = std::log(std::numbers::pi * static_cast<double>(r.t.size()) / 3);
    auto const allowed = [&](Parameters const& q) {
        if (q.p[0] < box.low || q.p[0] > box.high) return false;
        if (shape == Shape::two) return q.p[1] >= box.low && q.p[1] <= q.p[0] - 0.1;
        if (shape == Shape::swing) return q.p[1] >= std::log(3.0) && q.p[1] <= fastest;
        return true;
    };
    auto const cost = [&](Parameters const& q) { return allowed(q) ? rss_at(r, shape, q) : 1e300; };
    if (shape != Shape::constant && shape != Shape::line) {
        bool const plane = shape == Shape::two || shape == Shape::swing;
        int const along = plane ? 12 : 40;
        double least = 1e301;
        double const step = (box.high - box.low) / along;
        double const step2 = shape == Shape::swing ? (fastest - std::log(3.0)) / 24 : step;
        Parameters start{};
        for (int a = 0; a <= along; ++a) {
            Parameters q;
            q.p[0] = box.low + step * a;
            int const across = !plane ? 0 : shape == Shape::swing ? 24 : a;
            for (int b = 0; b <= across; ++b) {
                q.p[1] = shape == Shape::swing ? std::log(3.0) + step2 * b
                                               : std::min(box.low + step * b, q.p[0] - 0.1);
                double const c = cost(q);
                if (c < least) {
                    least = c;
                    start = q;
                }
            }
        }
        double const first = start.p[0] + 0.3 * step > box.high ? -0.3 * step : 0.3 * step;
        out.q = minimise(cost, start, plane ? 2 : 1, first);
    }
    finish(r, out);
    return out;
}

std::vector<double> residuals_of(Record const& r, Fit const& fit) {
    std::vector<double> out;
    std::array<double, 2> each{};
    for (std::size_t i = 0; i < r.t.size(); ++i) {
        columns(fit.shape, fit.q, r.t[i], each.data());
        double f = fit.linear.c(0);
        for (std::size_t k = 0; k < columns_of(fit.shape); ++k)
            f += fit.linear.c(static_cast<Index>(k) + 1) * each[k];
        out.push_back(r.y[i] - f);
    }
    return out;
}

double robust_sd(std::vector<double> values) {
    for (double& v : values) v = std::abs(v);
    return 1.4826 * median(std::move(values));  // of a normal law
}

// Readings far from the middle of their neighbours: an injection that failed, a bubble.
std::vector<std::size_t> stand_out(std::span<double const> y) {
    std::vector<std::size_t> out;
    if (y.size() < least_readings) return out;
    std::vector<double> off;
    for (std::size_t i = 0; i < y.size(); ++i) {
        std::size_t const from = std::min(i < 2 ? 0 : i - 2, y.size() - 5);
        off.push_back(y[i] - median({y.begin() + static_cast<std::ptrdiff_t>(from),
                                     y.begin() + static_cast<std::ptrdiff_t>(from + 5)}));
    }
    // At the ends the window is one-sided and a slope looks like an outlier: left to the fit.
    // Where the slope is steep every reading is the middle of its neighbours: the scatter shows in
    // the second differences too.
    std::vector<double> bends;
    for (std::size_t i = 1; i + 1 < y.size(); ++i)
        bends.push_back((y[i + 1] - 2 * y[i] + y[i - 1]) / std::sqrt(6.0));
    double const s = std::max(robust_sd(off), robust_sd(bends));
    auto const [low, high] = std::minmax_element(y.begin(), y.end());
    for (std::size_t i = 2; i + 2 < y.size(); ++i)
        if (std::abs(off[i]) > std::max(8 * s, 1e-6 * (*high - *low))) {
            double const step = std::max(std::abs(y[i] - y[i - 1]), std::abs(y[i] - y[i + 1]));
            double const across = std::abs(y[i + 1] - y[i - 1]);
            if (std::min(std::abs(y[i] - y[i - 1]), std::abs(y[i] - y[i + 1])) > 2 * across &&
                step > 8 * s)
                out.push_back(i);
        }
    return out;
}

Record record_of(std::span<double const> t,
                 std::span<double const> y,
                 std::vector<bool> const& used,
                 std::size_t most) {
    Record out;
    out.span = t.back() - t.front();
    std::size_t count = 0;
    for (bool const u : used) count += u ? 1 : 0;
    std::size_t const per = (count + most - 1) / most;
    double sum_t = 0, sum_y = 0;
    std::size_t in = 0;
    for (std::size_t i = 0; i < t.size(); ++i) {
        if (!used[i]) continue;
        sum_t += (t[i] - t.front()) / out.span;
        sum_y += y[i];
        if (++in == per) {
            out.t.push_back(sum_t / static_cast<double>(per));
            out.y.push_back(sum_y / static_cast<double>(per));
            sum_t = sum_y = 0;
            in = 0;
        }
    }
    return out;
}

double lag1(std::vector<double> const& e) {
    double top = 0, bottom = 0;
    for (std::size_t i = 0; i < e.size(); ++i) {
        bottom += e[i] * e[i];
        if (i > 0) top += e[i] * e[i - 1];
    }
    return bottom > 0 ? top / bottom : 0;
}

// One possible future: weight, and the curve.
struct Future {
    double weight = 1;
    Parameters q;
    std::array<double, 2> c{};
};

// Last time (in spans) at which the curve is further than `limit` from its end.
double last_outside(Shape shape, Future const& f, double limit) {
    double const tau = std::exp(f.q.p[0]);
    double const tau2 = shape == Shape::two ? std::exp(f.q.p[1]) : tau;
    if (shape == Shape::one) {
        double const size = std::abs(f.c[0]);
        return size > limit ? tau * std::log(size / limit) : 0.0;
    }
    double const all = std::abs(f.c[0]) + std::abs(f.c[1]);
    if (!(all > limit)) return 0;
    double const latest = std::max(tau, tau2) * std::log(all / limit);
    double step = std::min(tau, tau2) / 10;
    if (shape == Shape::swing) step = std::min(step, 0.2 / std::exp(f.q.p[1]));
    step = std::max(step, latest / 4000);
    auto const distance = [&](double t) {
        std::array<double, 2> each{};
        columns(shape, f.q, t, each.data());
        return std::abs(f.c[0] * each[0] + f.c[1] * each[1]);
    };
    double t = latest;
    while (t > 0 && distance(t) <= limit) t -= step;
    if (t <= 0) return distance(0) > limit ? step : 0.0;
    double inside = t + step, outside = t;
    for (int i = 0; i < 40; ++i) {
        double const middle = 0.5 * (inside + outside);
        (distance(middle) > limit ? outside : inside) = middle;
    }
    return outside;
}

// Degrees of freedom left, fewer when neighbouring residuals go together (AR(1)).
double freedom(Record const& r, Fit const& fit, double rho) {
    double const n = static_cast<double>(r.n());
    double const sure = std::max(0.0, rho - 1 / std::sqrt(n));
    double const effective = n * (1 - sure) / (1 + sure);
    return std::max(effective - static_cast<double>(fit.parameters()), 1.0);
}

std::vector<Future> futures_of_one(Record const& r, Fit const& fit, double rho) {
    auto const box = bounds_of(r);
    double const nu = freedom(r, fit, rho);
    double const floor = floor_of(r);
    // Student likelihood with the linear parameters integrated out; ln tau is even beforehand.
    auto const log_weight = [&](Linear const& l) {
        return -0.5 * nu * std::log(l.rss + floor) - 0.5 * l.log_det;
    };
    auto const at = [&](double ln_tau) {
        Parameters q;
        q.p[0] = ln_tau;
        return linear_fit(r, Shape::one, q, true);
    };
    double const top = log_weight(fit.linear);
    auto const edge = [&](double direction, double end) {
        double step = 1e-4;
        double x = fit.q.p[0];
        while ((end - x) * direction > 0) {
            double const next = x + direction * step;
            if (log_weight(at(next)) < top - 14) return next;
            x = next;
            step *= 1.5;
        }
        return end;
    };
    double const low = edge(-1, box.low), high = edge(1, box.high);
    constexpr int across = 80, deep = 31;
    std::array<double, deep> quantile{};
    for (int k = 0; k < deep; ++k)
        quantile[static_cast<std::size_t>(k)] = student_t((k + 0.5) / deep, nu);
    std::vector<Future> out;
    for (int i = 0; i <= across; ++i) {
        double const ln_tau = low + (high - low) * i / across;
        auto const l = at(ln_tau);
        double const w = std::exp(log_weight(l) - top);
        double const u = std::sqrt((l.rss + floor) / nu) * l.root.row(1).norm();
        for (double const z : quantile) {
            Future f;
            f.weight = w;
            f.q.p[0] = ln_tau;
            f.c[0] = l.c(1) + z * u;
            out.push_back(f);
        }
    }
    return out;
}

// Second order: the shape parameters by their curvature at the best fit, the amplitudes given them.
std::vector<Future> futures_of_two(Record const& r, Fit const& fit, double rho) {
    double const nu = freedom(r, fit, rho);
    double const floor = floor_of(r);
    auto const cost = [&](double a, double b) {
        Parameters q = fit.q;
        q.p[0] += a;
        q.p[1] += b;
        return 0.5 * nu * std::log(rss_at(r, fit.shape, q) + floor);
    };
    constexpr double h = 1e-3;
    double const c0 = cost(0, 0);
    double const aa = (cost(h, 0) - 2 * c0 + cost(-h, 0)) / (h * h);
    double const bb = (cost(0, h) - 2 * c0 + cost(0, -h)) / (h * h);
    double const ab = (cost(h, h) - cost(h, -h) - cost(-h, h) + cost(-h, -h)) / (4 * h * h);
    Eigen::Matrix2d H;
    H << std::max(aa, 1e-2), ab, ab, std::max(bb, 1e-2);
    double const limit = 0.999 * std::sqrt(H(0, 0) * H(1, 1));
    H(0, 1) = H(1, 0) = std::clamp(ab, -limit, limit);
    Eigen::Matrix2d const root = Eigen::LLT<Eigen::Matrix2d>(H.inverse()).matrixL();
    RandomStream random(20, 1);  // a fixed stream: the same series gives the same answer
    constexpr int many = 600;
    std::vector<Future> out;
    auto const box = bounds_of(r);
    for (int i = 0; i < many; ++i) {
        Eigen::Vector2d const z(random.normal(), random.normal());
        Eigen::Vector2d const d = root * z;
        Future f;
        f.q = fit.q;
        f.q.p[0] = std::clamp(f.q.p[0] + d(0), box.low, box.high);
        f.q.p[1] += d(1);
        auto const l = linear_fit(r, fit.shape, f.q, true);
        double const s = std::sqrt((fit.linear.rss + floor) / nu);
        Eigen::Vector3d const noise(random.normal(), random.normal(), random.normal());
        Vector const c = l.c + s * (l.root * noise);
        f.c = {c(1), c(2)};
        out.push_back(f);
    }
    return out;
}

double weighted_quantile(std::vector<std::pair<double, double>> const& sorted, double p) {
    double total = 0;
    for (auto const& each : sorted) total += each.second;
    double sum = 0;
    for (auto const& each : sorted) {
        sum += each.second;
        if (sum >= p * total) return each.first;
    }
    return sorted.back().first;
}

struct Chosen {
    Fit fit;
    bool drift = false, wander = false;
};

// A richer shape must be better by this much of the Bayes criterion: strong evidence by habit.
constexpr double clearly = 8;

Chosen choose(Record const& r) {
    Chosen out;
    out.fit = best_fit(r, Shape::constant);
    auto const line = best_fit(r, Shape::line);
    auto const one = best_fit(r, Shape::one);
    if (line.bic < out.fit.bic - 2 || one.bic < out.fit.bic - 2)
        out.fit = one.bic < line.bic ? one : line;
    if (r.n() >= 12) {
        auto const two = best_fit(r, Shape::two);
        auto const swing = best_fit(r, Shape::swing);
        auto const& richer = swing.bic < two.bic ? swing : two;
        if (richer.bic < out.fit.bic - clearly) out.fit = richer;
        auto const both = best_fit(r, Shape::one_and_line);
        if (both.bic < out.fit.bic - clearly) out.fit = both;
    }
    double const tau = std::exp(out.fit.q.p[0]);
    switch (out.fit.shape) {
        case Shape::constant:
            break;
        case Shape::line:
        case Shape::one_and_line:
            out.drift = true;
            break;
        case Shape::one:
            out.drift = tau > 0.9 * largest_tau;
            break;
        case Shape::two:
            out.drift = tau > 0.9 * largest_tau;
            break;
        case Shape::swing:
            out.wander = tau > 0.6;  // hardly smaller at the end than at the beginning
            break;
    }
    return out;
}

void describe_line(Record const& r, Approach& out) {
    auto const line = best_fit(r, Shape::line);
    double const s = std::sqrt(line.linear.rss / std::max(1.0, static_cast<double>(r.n() - 2)));
    out.rate = line.linear.c(1) / r.span;
    out.rate_u = s * line.linear.root.row(1).norm() / r.span;
}

}  // namespace

Approach approach(std::span<double const> t,
                  std::span<double const> y,
                  double limit,
                  ApproachOptions const& options) {
    Approach out;
    if (t.size() < least_readings || !(t.back() > t.front())) return out;
    std::vector<bool> used(t.size(), true);
    for (auto const i : stand_out(y)) used[i] = false;
    Record r = record_of(t, y, used, options.most_points);
    auto chosen = choose(r);
    for (int round = 0; round < 3; ++round) {  // what the curve itself shows to stand out
        if (t.size() > options.most_points) break;
        auto const e = residuals_of(r, chosen.fit);
        double const s =
            std::max(robust_sd(e), std::sqrt(floor_of(r) / static_cast<double>(r.n())));
        bool any = false;
        std::size_t at = 0, aside = 0;
        for (bool const u : used) aside += u ? 0 : 1;
        for (std::size_t i = 0; i < t.size(); ++i) {
            if (!used[i]) continue;
            if (std::abs(e[at]) > 6 * s && aside < t.size() / 5) {
                used[i] = false;
                any = true;
                ++aside;
            }
            ++at;
        }
        if (!any) break;
        r = record_of(t, y, used, options.most_points);
        chosen = choose(r);
    }
    for (std::size_t i = 0; i < used.size(); ++i)
        if (!used[i]) out.set_aside.push_back(i);
    if (r.t.size() < least_readings) return out;

    auto const e = residuals_of(r, chosen.fit);
    out.scatter = std::sqrt(
        chosen.fit.linear.rss /
        std::max(1.0, static_cast<double>(r.n()) - static_cast<double>(chosen.fit.parameters())));
    out.correlation = lag1(e);
    describe_line(r, out);
    double const one_sided = normal_quantile(options.confidence);
    double const strongly_tied = 0.7;  // of residuals that no curve explains
    auto const& fit = chosen.fit;
    double const present = [&] {
        std::array<double, 2> each{};
        columns(fit.shape, fit.q, 1.0, each.data());
        double f = fit.linear.c(0);
        for (std::size_t k = 0; k < columns_of(fit.shape); ++k)
            f += fit.linear.c(static_cast<Index>(k) + 1) * each[k];
        return f;
    }();
    if (chosen.wander ||
        (out.correlation > strongly_tied && r.n() >= 15 && out.scatter > limit / 4)) {
        // A ramp that ends in rest fits no curve; what counts is the rest.
        if (t.size() >= 24) {
            std::size_t const half = t.size() / 2;
            auto tail = approach(t.subspan(half), y.subspan(half), limit, options);
            if (tail.motion == Motion::still) {
                for (auto& i : tail.set_aside) i += half;
                tail.abrupt = true;
                return tail;
            }
        }
        out.motion = Motion::wander;
        auto const [low, high] = std::minmax_element(r.y.begin(), r.y.end());
        out.settled = *high - *low + 2 * out.scatter <= limit;
        return out;
    }
    if (chosen.drift) {
        // No end in sight: what it does in as long again must be harmless.
        out.motion = Motion::drift;
        out.settled = (std::abs(out.rate) + one_sided * out.rate_u) * r.span <= limit;
        return out;
    }
    double const first = t.front();
    if (fit.shape == Shape::constant) {
        out.motion = Motion::still;
        out.remaining_change = 0;
        out.end_value = fit.linear.c(0);
        double const sure =
            std::max(0.0, out.correlation - 1 / std::sqrt(static_cast<double>(r.n())));
        double const u = out.rate_u * std::sqrt((1 + sure) / (1 - sure));
        out.settled = 0.5 * r.span * (std::abs(out.rate) + one_sided * u) <= limit;
        if (out.settled) {
            out.ready_at = out.ready_from = first;
            out.ready_to = t.back();
        }
        return out;
    }
    out.motion = fit.shape == Shape::one   ? Motion::first_order
                 : fit.shape == Shape::two ? Motion::second_order
                                           : Motion::damped_swing;
    out.time_constant = std::exp(fit.q.p[0]) * r.span;
    out.end_value = fit.linear.c(0);
    out.remaining_change = fit.linear.c(0) - present;
    auto const futures = fit.shape == Shape::one ? futures_of_one(r, fit, out.correlation)
                                                 : futures_of_two(r, fit, out.correlation);
    std::vector<std::pair<double, double>> ready;
    double under = 0, total = 0, slowest = 0;
    for (auto const& f : futures) {
        double const at = last_outside(fit.shape, f, limit);
        ready.emplace_back(at, f.weight);
        total += f.weight;
        if (at <= 1.0) under += f.weight;
        if (f.q.p[0] > std::log(0.8 * largest_tau)) slowest += f.weight;
    }
    std::sort(ready.begin(), ready.end());
    out.settled = under >= options.confidence * total;
    double const tail = 0.5 * (1 - options.confidence);
    Future best;
    best.q = fit.q;
    for (std::size_t k = 0; k < columns_of(fit.shape); ++k)
        best.c[k] = fit.linear.c(static_cast<Index>(k) + 1);
    if (slowest > tail * total && !out.settled) return out;  // it could as well never arrive
    out.ready_at = first + r.span * last_outside(fit.shape, best, limit);
    out.ready_from = std::min(*out.ready_at, first + r.span * weighted_quantile(ready, tail));
    out.ready_to = std::max(*out.ready_at, first + r.span * weighted_quantile(ready, 1 - tail));
    return out;
}

}  // namespace gw::metrology
