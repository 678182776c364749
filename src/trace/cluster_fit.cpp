#include "trace/cluster_fit.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>

#include "trace/emg_rows.hpp"

namespace gw::trace {

namespace {

// Parameters of one peak: area, mu, ln sigma, ln tau.
constexpr Eigen::Index per_peak = 4;

Emg peak_of(Eigen::VectorXd const& p, Eigen::Index k) {
    return {p(per_peak * k),
            p(per_peak * k + 1),
            std::exp(p(per_peak * k + 2)),
            std::exp(p(per_peak * k + 3))};
}

struct Samples {
    std::vector<double> t, y, weight;
    double noise{};                 // of one of them
    std::size_t block{1}, first{};  // samples to a mean; where the first begins
};

// Enough samples to describe every flank; the rest only cost time.
Samples thinned(std::span<double const> y,
                double start_s,
                double dt,
                double noise,
                std::vector<Emg> const& start,
                ClusterFitOptions const& options) {
    double narrowest = 1e30;
    for (auto const& peak : start)
        narrowest = std::min(narrowest, std::hypot(peak.sigma, 0.5 * peak.tau));
    auto block = std::max<std::size_t>(1, static_cast<std::size_t>(narrowest / (10 * dt)));
    std::size_t from = 0;
    if (options.kick) {  // no mean may straddle its onset, nor blur its decay
        auto const& shape = options.kick->shape;
        double const quickest = shape.lag > 0 ? std::min(shape.lag, shape.decay) : shape.decay;
        block = std::clamp<std::size_t>(static_cast<std::size_t>(quickest / 12), 1, block);
        from = options.kick->at % block;
    }
    double const model_error = options.model_error;
    Samples out;
    out.noise = noise / std::sqrt(static_cast<double>(block));
    out.block = block, out.first = from;
    for (std::size_t i = from; i + block <= y.size(); i += block) {
        double sum = 0;
        for (std::size_t k = 0; k < block; ++k) sum += y[i + k];
        double const mean = sum / static_cast<double>(block);
        out.t.push_back(start_s +
                        dt * (static_cast<double>(i) + 0.5 * static_cast<double>(block - 1)));
        out.y.push_back(mean);
        out.weight.push_back(1 / std::sqrt(noise * noise / static_cast<double>(block) +
                                           model_error * model_error * mean * mean));
        for (auto const& [low, high] : options.ignored)
            if (i < high && i + block > low) out.weight.back() *= 1e-6;
    }
    return out;
}

// Means [from, to) that a peak reaches, to a part in 10^8 of its height and better.
struct Reach {
    Eigen::Index from{}, to{};
};

Reach reach_of(Emg const& peak, Samples const& s) {
    double const step = s.t.size() > 1 ? s.t[1] - s.t[0] : 1;
    auto const n = static_cast<double>(s.t.size());
    auto const index = [&](double t) {
        return static_cast<Eigen::Index>(std::clamp(std::ceil((t - s.t[0]) / step), 0.0, n));
    };
    return {index(peak.mu - 7 * peak.sigma), index(peak.mu + 7 * peak.sigma + 20 * peak.tau)};
}

// Model and derivatives at one set of parameters. Rows of J outside a peak's reach are never read.
struct Evaluated {
    Eigen::VectorXd residual;
    Eigen::MatrixXd J;
    std::vector<Reach> reach;  // of each peak, then of the kick
    double cost{};
};

// J'J and J'r: only where two reaches meet is there anything to multiply.
void normal_equations(Evaluated const& e,
                      Eigen::Index peaks,
                      Eigen::MatrixXd& JJ,
                      Eigen::VectorXd& g) {
    auto const m = e.J.cols();
    JJ.setZero(m, m), g.setZero(m);
    auto const blocks = static_cast<Eigen::Index>(e.reach.size());
    auto const begin = [](Eigen::Index a) { return per_peak * a; };
    auto const end = [&](Eigen::Index a) { return a < peaks ? per_peak * (a + 1) : m; };
    std::vector<double const*> columns;
    std::vector<double> products;
    for (Eigen::Index a = 0; a < blocks; ++a) {
        auto const& ra = e.reach[static_cast<std::size_t>(a)];
        for (Eigen::Index b = a; b < blocks; ++b) {
            auto const& rb = e.reach[static_cast<std::size_t>(b)];
            Eigen::Index const from = std::max(ra.from, rb.from),
                               count = std::min(ra.to, rb.to) - from;
            if (count <= 0) continue;
            columns.clear();
            for (Eigen::Index j = begin(b); j < end(b); ++j)
                columns.push_back(e.J.col(j).data() + from);
            if (a == b) columns.push_back(e.residual.data() + from);
            products.resize(columns.size());
            for (Eigen::Index i = begin(a); i < end(a); ++i) {
                row_products(e.J.col(i).data() + from,
                             columns,
                             static_cast<std::size_t>(count),
                             products.data());
                for (Eigen::Index j = begin(b); j < end(b); ++j)
                    JJ(i, j) = JJ(j, i) = products[static_cast<std::size_t>(j - begin(b))];
                if (a == b) g(i) = products.back();
            }
        }
    }
}

// A kick after its onset: amplitude, ln decay and, as asked for, the lag's amplitude and a step.
struct KickTerm {
    double at_s{}, dt{};
    double lag{};                                // samples
    Eigen::Index first{}, lagged{-1}, step{-1};  // places among the parameters
    Eigen::Index count{};

    KickTerm(std::optional<KickGuess> const& guess,
             Eigen::Index peaks_end,
             double start_s,
             double interval_s)
        : dt(interval_s), first(peaks_end) {
        if (!guess || !guess->fitted) return;
        at_s = start_s + static_cast<double>(guess->at) * dt, lag = guess->shape.lag, count = 2;
        if (lag > 0) lagged = first + count++;
        if (guess->step) step = first + count++;
    }
    void start(KickShape const& shape, Eigen::VectorXd& p) const {
        p(first) = shape.amplitude;
        p(first + 1) = std::log(shape.decay);
        if (lagged > 0) p(lagged) = shape.lag_amplitude;
        if (step > 0) p(step) = shape.step;
    }
    [[nodiscard]] KickShape shape(Eigen::VectorXd const& p) const {
        if (count == 0) return {};
        return {std::exp(p(first + 1)),
                lag,
                p(first),
                lagged > 0 ? p(lagged) : 0,
                step > 0 ? p(step) : 0};
    }
    // Adds the kick to the model and, where J is given, its derivatives.
    void add(Eigen::VectorXd const& p,
             Samples const& s,
             Eigen::VectorXd& model,
             Eigen::MatrixXd* J) const {
        if (count == 0) return;
        auto const now = shape(p);
        auto const onset = std::lower_bound(s.t.begin(), s.t.end(), at_s - 1e-6 * dt);
        for (auto i = static_cast<Eigen::Index>(onset - s.t.begin()); i < model.size(); ++i) {
            double const after = (s.t[static_cast<std::size_t>(i)] - at_s) / dt;
            model(i) += now.at(after) + now.step;
            if (!J) continue;
            double const w = s.weight[static_cast<std::size_t>(i)];
            double const fading = std::exp(-after / now.decay);
            (*J)(i, first) = fading * w;
            (*J)(i, first + 1) = now.amplitude * fading * after / now.decay * w;
            if (lagged > 0) (*J)(i, lagged) = std::exp(-after / lag) * w;
            if (step > 0) (*J)(i, step) = w;
        }
    }
};

// Bonds between the widths and the tails of neighbours. Each is one more observation: a difference
// of two parameters, seen to be nothing.
struct Bond {
    Eigen::Index from{}, to{};
    double weight{};
};

std::vector<Bond> bonds_of(std::vector<Emg> const& start, ClusterFitOptions const& options) {
    std::vector<Bond> out;
    if (!options.one_column) return out;
    for (std::size_t k = 0; k + 1 < start.size(); ++k) {
        auto const &a = start[k], &b = start[k + 1];
        double const wa = std::hypot(a.sigma, a.tau), wb = std::hypot(b.sigma, b.tau);
        if (b.mu - a.mu > 4 * (wa + wb) || std::max(wa, wb) > 1.8 * std::min(wa, wb)) continue;
        auto const at = per_peak * static_cast<Eigen::Index>(k);
        out.push_back({at + 2, at + per_peak + 2, 1 / like_widths});
        out.push_back({at + 3, at + per_peak + 3, 1 / like_tails});
    }
    return out;
}

double cost_of(std::vector<Bond> const& bonds, Eigen::VectorXd const& p) {
    double sum = 0;
    for (auto const& b : bonds) sum += std::pow(b.weight * (p(b.to) - p(b.from)), 2);
    return sum;
}

void add_bonds(std::vector<Bond> const& bonds,
               Eigen::VectorXd const& p,
               Eigen::MatrixXd& JJ,
               Eigen::VectorXd& g) {
    for (auto const& b : bonds) {
        double const w2 = b.weight * b.weight, pull = w2 * (p(b.to) - p(b.from));
        g(b.to) += pull, g(b.from) -= pull;
        JJ(b.to, b.to) += w2, JJ(b.from, b.from) += w2;
        JJ(b.to, b.from) -= w2, JJ(b.from, b.to) -= w2;
    }
}

void set_departures(ClusterFit& fit,
                    Samples const& s,
                    Eigen::VectorXd const& p,
                    Eigen::VectorXd const& residual) {
    std::vector<double> height(fit.peaks.size(), 1e-300), worst(fit.peaks.size(), 0.0);
    std::vector<double> highest(s.t.size(), -1);
    std::vector<std::size_t> owner(s.t.size(), 0);
    for (std::size_t k = 0; k < fit.peaks.size(); ++k) {
        auto const peak = peak_of(p, static_cast<Eigen::Index>(k));
        auto const reach = reach_of(peak, s);
        for (auto i = static_cast<std::size_t>(reach.from); i < static_cast<std::size_t>(reach.to);
             ++i)
            if (double const v = value(peak, s.t[i]); v > highest[i]) highest[i] = v, owner[i] = k;
    }
    for (std::size_t i = 0; i < s.t.size(); ++i) {
        if (highest[i] < 0 || s.weight[i] * s.noise < 1e-5) continue;  // no peak's, or ignored
        double const off =
            std::abs(residual(static_cast<Eigen::Index>(i))) / s.weight[i] - 4 * s.noise;
        height[owner[i]] = std::max(height[owner[i]], highest[i]),
        worst[owner[i]] = std::max(worst[owner[i]], off);
    }
    for (std::size_t k = 0; k < fit.peaks.size(); ++k) fit.departure[k] = worst[k] / height[k];
}

}  // namespace

ClusterFit fit_cluster(std::span<double const> y,
                       double start_s,
                       double interval_s,
                       double noise,
                       std::vector<Emg> const& start,
                       ClusterFitOptions const& options) {
    ClusterFit out;
    out.peaks = start;
    out.area_u.assign(start.size(), 0.0);
    out.departure.assign(start.size(), 1.0);
    auto const s = thinned(y, start_s, interval_s, noise, start, options);
    auto const n = static_cast<Eigen::Index>(s.t.size());
    auto const peaks = static_cast<Eigen::Index>(start.size());
    KickTerm const kick(options.kick, per_peak * peaks, start_s, interval_s);
    out.samples = s.t.size();
    auto const m = per_peak * peaks + kick.count;
    if (n < m + 4) return out;

    Eigen::VectorXd p(m);
    if (kick.count > 0) kick.start(options.kick->shape, p);
    for (Eigen::Index k = 0; k < peaks; ++k) {
        auto const& peak = start[static_cast<std::size_t>(k)];
        p.segment<per_peak>(per_peak * k) << peak.area, peak.mu, std::log(peak.sigma),
            std::log(std::max(peak.tau, 0.02 * peak.sigma));
    }
    auto const bonds = bonds_of(start, options);
    Evaluated now, next;
    for (auto* e : {&now, &next}) {
        e->residual.resize(n);
        e->J.resize(n, m);
        e->J.rightCols(kick.count).setZero();  // before its onset a kick is nothing
        e->reach.resize(static_cast<std::size_t>(peaks) + (kick.count > 0 ? 1 : 0), {0, n});
    }
    auto const evaluate = [&](Eigen::VectorXd const& at, Evaluated& e) {
        e.residual.setZero();
        for (Eigen::Index k = 0; k < peaks; ++k) {
            Emg const peak = peak_of(at, k);
            auto const reach = e.reach[static_cast<std::size_t>(k)] = reach_of(peak, s);
            auto const from = static_cast<std::size_t>(reach.from);
            double* const column = e.J.data() + per_peak * k * n + reach.from;
            if (reach.to > reach.from)
                add_emg_rows(peak,
                             {s.t.data() + from,
                              s.weight.data() + from,
                              static_cast<std::size_t>(reach.to - reach.from)},
                             e.residual.data() + from,
                             {column, column + n, column + 2 * n, column + 3 * n});
        }
        kick.add(at, s, e.residual, &e.J);
        for (Eigen::Index i = 0; i < n; ++i) {
            auto const j = static_cast<std::size_t>(i);
            e.residual(i) = (e.residual(i) - s.y[j]) * s.weight[j];
        }
        return e.cost = e.residual.squaredNorm() + cost_of(bonds, at);
    };
    auto const bounded = [&](Eigen::VectorXd at) {
        for (Eigen::Index k = 0; k < peaks; ++k) {
            auto const& first = start[static_cast<std::size_t>(k)];
            double& ln_sigma = at(per_peak * k + 2);
            double& ln_tau = at(per_peak * k + 3);
            double const width = std::log(std::hypot(first.sigma, first.tau));
            ln_sigma = std::clamp(ln_sigma, width - 1.6, width + 0.9);
            ln_tau = std::clamp(
                ln_tau, ln_sigma + std::log(0.02), ln_sigma + std::log(options.largest_tail));
            double const room = 3 * std::hypot(first.sigma, first.tau);
            at(per_peak * k + 1) =
                std::clamp(at(per_peak * k + 1), first.mu - room, first.mu + room);
        }
        if (kick.count > 0) {  // from a few samples to some seconds, and longer than its lag
            double& ln_decay = at(kick.first + 1);
            double const least = std::max({2.0, 1.2 * kick.lag, 0.04 / interval_s});
            ln_decay = std::clamp(ln_decay, std::log(least), std::log(4 / interval_s));
        }
        return at;
    };
    double damping = 1e-3;
    evaluate(p, now);
    Eigen::MatrixXd JJ;
    Eigen::VectorXd g;
    normal_equations(now, peaks, JJ, g);
    add_bonds(bonds, p, JJ, g);
    int settled = 0;                // steps in a row that hardly helped
    std::array<double, 3> gains{};  // of the last steps
    auto const hopeless = [&](int iteration) {
        double const most = *std::max_element(gains.begin(), gains.end());
        return iteration >= 3 &&
               now.cost - options.wanted > most * (options.iterations - iteration);
    };
    for (int iteration = 0; iteration < options.iterations; ++iteration) {
        bool better = false;
        for (int attempt = 0; attempt < 8 && !better; ++attempt) {
            Eigen::MatrixXd A = JJ;
            for (Eigen::Index i = 0; i < m; ++i)
                A(i, i) += damping * std::max(JJ(i, i), 1e-12 * JJ.diagonal().maxCoeff());
            Eigen::VectorXd const tried = bounded(p - A.ldlt().solve(g));
            evaluate(tried, next);
            if (std::isfinite(next.cost) && next.cost < now.cost) {
                double const gain = now.cost - next.cost;
                gains[static_cast<std::size_t>(iteration) % gains.size()] = gain;
                settled = gain < options.settled * now.cost ? settled + 1 : 0;
                out.converged = settled >= 3 || gain < 1e-7 * now.cost;
                p = tried;
                std::swap(now, next);
                damping = std::max(damping / 8, 1e-9);
                better = true;
            } else {
                damping *= 6;
            }
        }
        if (better && hopeless(iteration + 1)) {
            out.converged = false;
            return out;
        }
        if (!better) {
            out.converged = true;  // no step improves: the bottom, to rounding
            break;
        }
        normal_equations(now, peaks, JJ, g);
        add_bonds(bonds, p, JJ, g);
        if (out.converged) break;
    }
    // Where the signal pulls a bond by more than two and a half of its standard deviations the
    // neighbours are not alike.
    if (std::any_of(bonds.begin(), bonds.end(), [&](Bond const& b) {
            return std::abs(b.weight * (p(b.to) - p(b.from))) > 2.5;
        })) {
        auto loose = options;
        loose.one_column = false;
        std::vector<Emg> from;
        for (Eigen::Index k = 0; k < peaks; ++k) from.push_back(peak_of(p, k));
        auto alone = fit_cluster(y, start_s, interval_s, noise, from, loose);
        if (alone.converged) return alone;
    }
    auto const& residual = now.residual;
    double const cost = now.cost;
    out.misfit = cost / static_cast<double>(n - m);
    double highest = 0;
    for (std::size_t i = 0; i < s.y.size(); ++i) {
        highest = std::max(highest, std::abs(s.y[i]));
        if (s.weight[i] * s.noise < 1e-5) continue;  // ignored
        out.largest_departure = std::max(
            out.largest_departure, std::abs(residual(static_cast<Eigen::Index>(i))) / s.weight[i]);
    }
    out.largest_departure /= std::max(highest, 1e-300);
    set_departures(out, s, p, residual);
    out.kick = kick.shape(p);
    // Slow but describing it: no less an answer.
    out.converged = out.converged || out.largest_departure < 0.01;
    Eigen::MatrixXd const covariance = (JJ + 1e-12 * Eigen::MatrixXd(JJ.diagonal().asDiagonal()))
                                           .ldlt()
                                           .solve(Eigen::MatrixXd::Identity(m, m));
    for (Eigen::Index k = 0; k < peaks; ++k) {
        out.peaks[static_cast<std::size_t>(k)] = peak_of(p, k);
        out.area_u[static_cast<std::size_t>(k)] = std::sqrt(
            std::max(0.0, covariance(per_peak * k, per_peak * k)) * std::max(1.0, out.misfit));
        if (!(out.peaks[static_cast<std::size_t>(k)].area > 0)) out.converged = false;
    }
    if (options.responses) {
        for (Eigen::Index k = 0; k < peaks; ++k) {
            auto const& reach = now.reach[static_cast<std::size_t>(k)];
            auto columns = now.J.middleCols(per_peak * k, per_peak);
            columns.topRows(reach.from).setZero();
            columns.bottomRows(n - reach.to).setZero();
        }
        Eigen::MatrixXd const R = covariance.topRows(per_peak * peaks) * now.J.transpose();
        out.block = s.block, out.first = s.first;
        for (Eigen::Index k = 0; k < per_peak * peaks; ++k) {
            // The fit's parameters 2 and 3 are logarithms.
            auto const& peak = out.peaks[static_cast<std::size_t>(k / per_peak)];
            double const scale =
                k % per_peak == 2 ? peak.sigma : (k % per_peak == 3 ? peak.tau : 1.0);
            auto& bond = out.bond_response.emplace_back();
            for (auto const& b : bonds)
                bond.push_back(scale * b.weight * (covariance(k, b.to) - covariance(k, b.from)));
            auto& row = out.response.emplace_back(s.t.size());
            for (std::size_t i = 0; i < s.t.size(); ++i)
                row[i] = scale * R(k, static_cast<Eigen::Index>(i)) * s.weight[i];
        }
    }
    return out;
}

}  // namespace gw::trace
