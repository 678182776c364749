#include "trace/cluster_fit.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

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
    }
    return out;
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

void set_departures(ClusterFit& fit,
                    Samples const& s,
                    Eigen::VectorXd const& p,
                    Eigen::VectorXd const& residual) {
    std::vector<double> height(fit.peaks.size(), 1e-300), worst(fit.peaks.size(), 0.0);
    for (std::size_t i = 0; i < s.t.size(); ++i) {
        std::size_t owner = 0;
        double highest = -1;
        for (std::size_t k = 0; k < fit.peaks.size(); ++k)
            if (double const v = value(peak_of(p, static_cast<Eigen::Index>(k)), s.t[i]);
                v > highest)
                highest = v, owner = k;
        double const off =
            std::abs(residual(static_cast<Eigen::Index>(i))) / s.weight[i] - 4 * s.noise;
        height[owner] = std::max(height[owner], highest),
        worst[owner] = std::max(worst[owner], off);
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
    Eigen::VectorXd residual(n);
    Eigen::MatrixXd J(n, m);
    auto const evaluate = [&](Eigen::VectorXd const& at, bool with_derivatives) {
        residual.setZero();
        if (with_derivatives) J.setZero();
        for (Eigen::Index k = 0; k < peaks; ++k) {
            Emg const peak = peak_of(at, k);
            double const left = peak.mu - 9 * peak.sigma,
                         right = peak.mu + 9 * peak.sigma + 30 * peak.tau;
            for (Eigen::Index i = 0; i < n; ++i) {
                auto const j = static_cast<std::size_t>(i);
                if (s.t[j] < left || s.t[j] > right) continue;
                if (with_derivatives) {
                    auto const d = derivatives(peak, s.t[j]);
                    residual(i) += d.value;
                    J(i, per_peak * k) = d.d[0] * s.weight[j];
                    J(i, per_peak * k + 1) = d.d[1] * s.weight[j];
                    J(i, per_peak * k + 2) = d.d[2] * peak.sigma * s.weight[j];
                    J(i, per_peak * k + 3) = d.d[3] * peak.tau * s.weight[j];
                } else {
                    residual(i) += value(peak, s.t[j]);
                }
            }
        }
        kick.add(at, s, residual, with_derivatives ? &J : nullptr);
        for (Eigen::Index i = 0; i < n; ++i) {
            auto const j = static_cast<std::size_t>(i);
            residual(i) = (residual(i) - s.y[j]) * s.weight[j];
        }
        return residual.squaredNorm();
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
    double cost = evaluate(p, true), damping = 1e-3;
    int settled = 0;  // steps in a row that hardly helped
    for (int iteration = 0; iteration < options.iterations; ++iteration) {
        Eigen::MatrixXd const JJ = J.transpose() * J;
        Eigen::VectorXd const g = J.transpose() * residual;
        bool better = false;
        for (int attempt = 0; attempt < 8 && !better; ++attempt) {
            Eigen::MatrixXd A = JJ;
            for (Eigen::Index i = 0; i < m; ++i)
                A(i, i) += damping * std::max(JJ(i, i), 1e-12 * JJ.diagonal().maxCoeff());
            Eigen::VectorXd const next = bounded(p - A.ldlt().solve(g));
            double const tried = evaluate(next, false);
            if (std::isfinite(tried) && tried < cost) {
                settled = cost - tried < 1e-4 * cost ? settled + 1 : 0;
                out.converged = settled >= 3 || cost - tried < 1e-7 * cost;
                p = next;
                damping = std::max(damping / 8, 1e-9);
                better = true;
            } else {
                damping *= 6;
            }
        }
        if (!better) {
            out.converged = true;  // no step improves: the bottom, to rounding
            break;
        }
        cost = evaluate(p, true);
        if (out.converged) break;
    }
    cost = evaluate(p, true);
    out.misfit = cost / static_cast<double>(n - m);
    double highest = 0;
    for (std::size_t i = 0; i < s.y.size(); ++i) {
        highest = std::max(highest, std::abs(s.y[i]));
        out.largest_departure = std::max(
            out.largest_departure, std::abs(residual(static_cast<Eigen::Index>(i))) / s.weight[i]);
    }
    out.largest_departure /= std::max(highest, 1e-300);
    set_departures(out, s, p, residual);
    out.kick = kick.shape(p);
    // Slow but describing it: no less an answer.
    out.converged = out.converged || out.largest_departure < 0.01;
    Eigen::MatrixXd const covariance =
        (J.transpose() * J + 1e-12 * Eigen::MatrixXd((J.transpose() * J).diagonal().asDiagonal()))
            .ldlt()
            .solve(Eigen::MatrixXd::Identity(m, m));
    for (Eigen::Index k = 0; k < peaks; ++k) {
        out.peaks[static_cast<std::size_t>(k)] = peak_of(p, k);
        out.area_u[static_cast<std::size_t>(k)] = std::sqrt(
            std::max(0.0, covariance(per_peak * k, per_peak * k)) * std::max(1.0, out.misfit));
        if (!(out.peaks[static_cast<std::size_t>(k)].area > 0)) out.converged = false;
    }
    if (options.responses) {
        Eigen::MatrixXd const R = covariance.topRows(per_peak * peaks) * J.transpose();
        out.block = s.block, out.first = s.first;
        for (Eigen::Index k = 0; k < per_peak * peaks; ++k) {
            // The fit's parameters 2 and 3 are logarithms.
            auto const& peak = out.peaks[static_cast<std::size_t>(k / per_peak)];
            double const scale =
                k % per_peak == 2 ? peak.sigma : (k % per_peak == 3 ? peak.tau : 1.0);
            auto& row = out.response.emplace_back(s.t.size());
            for (std::size_t i = 0; i < s.t.size(); ++i)
                row[i] = scale * R(k, static_cast<Eigen::Index>(i)) * s.weight[i];
        }
    }
    return out;
}

}  // namespace gw::trace
