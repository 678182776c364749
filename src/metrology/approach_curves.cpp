#include "metrology/approach_curves.hpp"

#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <Eigen/QR>
#include <algorithm>
#include <cmath>
#include <functional>
#include <numbers>

#include "base/random.hpp"
#include "metrology/statistics.hpp"

namespace gw::metrology::approach_curves {

using Eigen::Index;
using Matrix = Eigen::MatrixXd;
using Vector = Eigen::VectorXd;

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

std::size_t Fit::parameters() const {
    std::size_t const shape_parameters = shape == Shape::one || shape == Shape::one_and_line ? 1
                                         : shape == Shape::two || shape == Shape::swing      ? 2
                                                                                             : 0;
    return 1 + columns_of(shape) + shape_parameters;
}

double Fit::at(double t) const {
    std::array<double, 2> each{};
    columns(shape, q, t, each.data());
    double f = linear.c(0);
    for (std::size_t k = 0; k < columns_of(shape); ++k)
        f += linear.c(static_cast<Index>(k) + 1) * each[k];
    return f;
}

namespace {

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

}  // namespace

double floor_of(Record const& r) {
    auto const [low, high] = std::minmax_element(r.y.begin(), r.y.end());
    double const size = std::max({*high - *low, 1e-7 * std::abs(*high), 1e-300});
    return static_cast<double>(r.t.size()) * std::pow(1e-7 * size, 2);
}

namespace {

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

}  // namespace

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
    for (std::size_t i = 0; i < r.t.size(); ++i) out.push_back(r.y[i] - fit.at(r.t[i]));
    return out;
}

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

namespace {

// Degrees of freedom left, fewer when neighbouring residuals go together (AR(1)).
double freedom(Record const& r, Fit const& fit, double rho) {
    double const n = static_cast<double>(r.n());
    double const sure = std::max(0.0, rho - 1 / std::sqrt(n));
    double const effective = n * (1 - sure) / (1 + sure);
    return std::max(effective - static_cast<double>(fit.parameters()), 1.0);
}

// One possible time constant: its weight and the straight fit given it.
struct Branch {
    double weight{}, ln_tau{}, s{};  // s: standard deviation of a reading
    Linear linear;
};

std::vector<Branch> branches_of_one(Record const& r, Fit const& fit, double nu) {
    auto const box = bounds_of(r);
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
    constexpr int across = 80;
    std::vector<Branch> out;
    for (int i = 0; i <= across; ++i) {
        Branch b;
        b.ln_tau = low + (high - low) * i / across;
        b.linear = at(b.ln_tau);
        b.weight = std::exp(log_weight(b.linear) - top);
        b.s = std::sqrt((b.linear.rss + floor) / nu);
        out.push_back(std::move(b));
    }
    return out;
}

constexpr int deep = 31;  // points of a Student law that stand for the whole of it
std::array<double, deep> student_points(double nu) {
    std::array<double, deep> out{};
    for (int k = 0; k < deep; ++k)
        out[static_cast<std::size_t>(k)] = student_t((k + 0.5) / deep, nu);
    return out;
}

std::vector<Future> futures_of_one(Record const& r, Fit const& fit, double rho) {
    double const nu = freedom(r, fit, rho);
    auto const points = student_points(nu);
    std::vector<Future> out;
    for (auto const& b : branches_of_one(r, fit, nu)) {
        double const u = b.s * b.linear.root.row(1).norm();
        for (double const z : points) {
            Future f;
            f.weight = b.weight;
            f.q.p[0] = b.ln_tau;
            f.c[0] = b.linear.c(1) + z * u;
            f.level = b.linear.c(0);
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
        f.level = c(0);
        out.push_back(f);
    }
    return out;
}

using Weighted = std::vector<std::pair<double, double>>;  // value, weight

double quantile_of(Weighted const& sorted, double p) {
    double total = 0, sum = 0;
    for (auto const& each : sorted) total += each.second;
    for (auto const& each : sorted) {
        sum += each.second;
        if (sum >= p * total) return each.first;
    }
    return sorted.back().first;
}

// The row that turns linear parameters into the curve at t: constant first.
Vector row_at(Shape shape, Parameters const& q, double t) {
    auto const m = static_cast<Index>(columns_of(shape));
    std::array<double, 2> each{};
    columns(shape, q, t, each.data());
    Vector out(m + 1);
    out(0) = 1;
    for (Index k = 0; k < m; ++k) out(k + 1) = each[static_cast<std::size_t>(k)];
    return out;
}

}  // namespace

std::vector<Future> futures_of(Record const& r, Fit const& fit, double rho) {
    return fit.shape == Shape::one ? futures_of_one(r, fit, rho) : futures_of_two(r, fit, rho);
}

std::vector<Band> bands_of(
    Record const& r, Fit const& fit, double rho, std::vector<double> const& t, double confidence) {
    double const nu = freedom(r, fit, rho);
    double const tail = 0.5 * (1 - confidence);
    std::vector<Band> out;
    if (fit.shape == Shape::one) {
        auto const branches = branches_of_one(r, fit, nu);
        auto const points = student_points(nu);
        for (double const at : t) {
            Weighted all;
            for (auto const& b : branches) {
                Parameters q;
                q.p[0] = b.ln_tau;
                auto const row = row_at(Shape::one, q, at);
                double const y = row.dot(b.linear.c);
                double const u = b.s * (b.linear.root.transpose() * row).norm();
                for (double const z : points) all.emplace_back(y + z * u, b.weight);
            }
            std::sort(all.begin(), all.end());
            out.push_back({quantile_of(all, tail), quantile_of(all, 1 - tail)});
        }
        return out;
    }
    if (fit.shape == Shape::two || fit.shape == Shape::swing) {
        auto const futures = futures_of_two(r, fit, rho);
        for (double const at : t) {
            Weighted all;
            std::array<double, 2> each{};
            for (auto const& f : futures) {
                columns(fit.shape, f.q, at, each.data());
                all.emplace_back(f.level + f.c[0] * each[0] + f.c[1] * each[1], f.weight);
            }
            std::sort(all.begin(), all.end());
            out.push_back({quantile_of(all, tail), quantile_of(all, 1 - tail)});
        }
        return out;
    }
    double const s = std::sqrt((fit.linear.rss + floor_of(r)) / nu);
    double const k = student_t(1 - tail, nu);
    for (double const at : t) {
        auto const row = row_at(fit.shape, fit.q, at);
        double const y = row.dot(fit.linear.c);
        double const u = s * (fit.linear.root.transpose() * row).norm();
        out.push_back({y - k * u, y + k * u});
    }
    return out;
}

}  // namespace gw::metrology::approach_curves
