#include "oven/fit.hpp"

#include <fmt/format.h>

#include <Eigen/Cholesky>
#include <Eigen/Core>
#include <algorithm>
#include <cmath>
#include <set>

#include "base/parallel.hpp"
#include "gas/component.hpp"

namespace gw::oven {

namespace {

/// One adjustable number: its prior (mean zero in the parameter's own coordinate) and what it does.
struct Knob {
    std::string name, unit;
    double prior{};                           ///< standard deviation in the knob's coordinate
    double step{};                            ///< of the numerical derivative
    std::function<void(Oven&, double)> turn;  ///< none: the response or the clock, done outside
    std::function<double(double)> value;      ///< the coordinate in the user's terms
    std::function<double(double)> slope;      ///< its derivative, for u
};

constexpr double baseline_prior = 1e3;  // detector unit: nothing is known beforehand

double same(double x) { return x; }
double one(double) { return 1; }

std::vector<gas::Component> peaks_of(Oven const& oven, std::vector<double> const& amounts) {
    std::vector<gas::Component> out;
    for (std::size_t s = 0; s < oven.species.size(); ++s)
        if (amounts[s] > 0 &&
            std::find(out.begin(), out.end(), oven.species[s].reported_as) == out.end())
            out.push_back(oven.species[s].reported_as);
    return out;
}

std::vector<Knob> knobs_of(Oven const& oven,
                           std::vector<double> const& amounts,
                           FitOptions const& options) {
    std::vector<Knob> out;
    auto const factor = [](double x) { return std::exp(x); };
    out.push_back({"flow",
                   "relative to the method",
                   options.flow,
                   1e-3,
                   [](Oven& o, double x) {
                       for (auto& column : o.columns) column.holdup_s *= std::exp(-x);
                       for (auto& chain : o.chains) chain.carrier.viscosity_pa_s *= std::exp(-x);
                   },
                   factor,
                   factor});
    double const t0 = oven.temperature_k;
    out.push_back({"temperature",
                   "degC",
                   options.temperature_k,
                   0.05,
                   [](Oven& o, double x) {
                       // Retention alone: what temperature does to the flow is the flow's knob.
                       for (auto& species : o.species)
                           for (std::size_t c = 0; c < species.k.size(); ++c)
                               species.k[c] = retention_factor(
                                   species, c, o.temperature_k, o.temperature_k + x);
                       o.temperature_k += x;
                   },
                   [t0](double x) { return t0 + x - 273.15; },
                   one});
    out.push_back({"dead time", "s", options.dead_time_s, 0.01, nullptr, same, one});
    std::set<std::string> seen;
    for (auto const& event : oven.programme) {
        if (oven.injects(event.action) || !seen.insert(event.action).second) continue;
        auto const action = event.action;
        double const at = event.at_s;
        out.push_back({"event:" + action,
                       "s",
                       options.event_s,
                       0.2,
                       [action](Oven& o, double x) { shift_event(o, action, x); },
                       [at](double x) { return at + x; },
                       one});
    }
    for (std::size_t c = 0; c < oven.columns.size(); ++c) {
        double const plates = oven.columns[c].plates;
        out.push_back({"plates:" + oven.columns[c].id,
                       "1",
                       options.plates,
                       0.02,
                       [c](Oven& o, double x) { o.columns[c].plates *= std::exp(x); },
                       [plates](double x) { return plates * std::exp(x); },
                       [plates](double x) { return plates * std::exp(x); }});
    }
    for (auto const peak : peaks_of(oven, amounts))
        out.push_back({"retention:" + std::string(gas::name(peak)),
                       "relative to the method",
                       options.retention,
                       1e-3,
                       [peak](Oven& o, double x) {
                           for (auto& species : o.species)
                               if (species.reported_as == peak)
                                   for (double& k : species.k) k *= std::exp(x);
                       },
                       factor,
                       factor});
    for (auto const peak : peaks_of(oven, amounts))
        out.push_back({"response:" + std::string(gas::name(peak)),
                       "relative to the method",
                       options.response,
                       0,
                       nullptr,
                       [](double x) { return 1 + x; },
                       one});
    for (std::size_t d = 0; d < oven.detectors.size(); ++d) {
        auto const name = fmt::format(":{}", d + 1);
        out.push_back({"baseline" + name, "detector unit", baseline_prior, 0, nullptr, same, one});
        out.push_back({"drift" + name,
                       "detector unit over the cycle",
                       baseline_prior,
                       0,
                       nullptr,
                       same,
                       one});
    }
    return out;
}

/// Gaussian blur by three passes of a moving mean (common practice; close to a Gaussian).
std::vector<double> blurred(std::vector<double> y, double sigma_samples) {
    if (sigma_samples < 0.5) return y;
    auto const half = static_cast<std::ptrdiff_t>(
        std::max(1.0, std::round(0.5 * (std::sqrt(4 * sigma_samples * sigma_samples + 1) - 1))));
    auto const n = static_cast<std::ptrdiff_t>(y.size());
    std::vector<double> sum(y.size() + 1);
    for (int pass = 0; pass < 3; ++pass) {
        for (std::ptrdiff_t i = 0; i < n; ++i) sum[i + 1] = sum[i] + y[i];
        for (std::ptrdiff_t i = 0; i < n; ++i) {
            std::ptrdiff_t const a = std::max<std::ptrdiff_t>(0, i - half),
                                 b = std::min(n, i + half + 1);
            y[i] = (sum[b] - sum[a]) / static_cast<double>(b - a);
        }
    }
    return y;
}

double noise_of(std::vector<double> const& y) {
    // From first differences, robustly; never below what float samples resolve.
    std::vector<double> d;
    double top = 0;
    for (std::size_t i = 1; i < y.size(); ++i) {
        d.push_back(std::abs(y[i] - y[i - 1]));
        top = std::max(top, std::abs(y[i]));
    }
    auto const middle = d.begin() + static_cast<std::ptrdiff_t>(d.size() / 2);
    std::nth_element(d.begin(), middle, d.end());
    return std::max(1.4826 * *middle / std::sqrt(2.0), 1e-6 * top);
}

class Problem {
  public:
    Problem(Oven const& oven,
            std::vector<double> const& amounts,
            std::vector<std::vector<double>> measured,
            FitOptions const& options)
        : oven_(oven),
          amounts_(amounts),
          options_(options),
          knobs_(knobs_of(oven, amounts, options)),
          peaks_(peaks_of(oven, amounts)),
          measured_(std::move(measured)) {
        for (auto const& y : measured_)
            noise_.push_back(options.noise > 0 ? options.noise : noise_of(y));
    }

    [[nodiscard]] std::vector<Knob> const& knobs() const { return knobs_; }
    [[nodiscard]] std::size_t responses() const {
        return knobs_.size() - peaks_.size() - 2 * measured_.size();
    }
    [[nodiscard]] std::size_t baselines() const { return knobs_.size() - 2 * measured_.size(); }
    [[nodiscard]] int simulations() const { return simulations_; }

    Oven turned(Eigen::VectorXd const& x) const {
        Oven oven = oven_;
        for (std::size_t k = 0; k < knobs_.size(); ++k)
            if (knobs_[k].turn) knobs_[k].turn(oven, x[static_cast<Eigen::Index>(k)]);
        return oven;
    }

    /// Signal of every peak at every detector, all detectors after one another.
    using Parts = std::vector<std::vector<double>>;
    Parts parts(Eigen::VectorXd const& x, double blur_s) const {
        SimulateOptions grid;
        if (blur_s > 0) grid.fineness = 0.6;  // the blur hides more than the grid
        auto const run = simulate(turned(x), amounts_, grid);
        double const shift = x[2] / run.interval_s;
        std::size_t const n = measured_.front().size();
        Parts out(peaks_.size(), std::vector<double>(measured_.size() * n));
        for (auto const& peak : run.peaks) {
            auto const at = std::find(peaks_.begin(), peaks_.end(), peak.reported_as);
            if (at == peaks_.end()) continue;
            auto& part = out[static_cast<std::size_t>(at - peaks_.begin())];
            auto const y = blurred(peak.signal, blur_s / run.interval_s);
            for (std::size_t i = 0; i < n; ++i) {
                double const p = static_cast<double>(i) - shift;
                if (p < 0 || p + 1 >= static_cast<double>(y.size())) continue;
                auto const k = static_cast<std::size_t>(p);
                double const u = p - static_cast<double>(k);
                part[peak.detector * n + i] += (1 - u) * y[k] + u * y[k + 1];
            }
        }
        return out;
    }

    struct Linear {
        Eigen::MatrixXd normal;    ///< J'WJ + priors
        Eigen::VectorXd gradient;  ///< J'W r - prior pull
        double cost{};
    };

    void blur(double blur_s) {
        blur_s_ = blur_s;
        target_.clear();
        weight_.clear();
        double const interval = 1 / oven_.rate_hz;
        for (std::size_t d = 0; d < measured_.size(); ++d) {
            auto const y = blurred(measured_[d], blur_s / interval);
            // Neighbouring samples of a blurred signal say the same: as many fewer count.
            double const alike = std::max(1.0, 3.5 * blur_s / interval);
            for (double const v : y) {
                double const u = std::hypot(noise_[d], options_.model * std::abs(v));
                target_.push_back(v);
                weight_.push_back(1 / (u * u * alike));
            }
        }
    }

    double cost(Eigen::VectorXd const& x) {
        ++simulations_;
        return cost_of(model(parts(x, blur_s_), x), x);
    }

    Linear linear(Eigen::VectorXd const& x) {
        auto const here = parts(x, blur_s_);
        auto const y = model(here, x);
        auto const count = static_cast<Eigen::Index>(knobs_.size());
        auto const samples = static_cast<Eigen::Index>(target_.size());
        auto const columns = parallel_map(responses(), [&](std::size_t k) {
            // From both sides: store and release move the stored peaks oppositely, and the bend
            // that a one-sided difference leaves would pass for knowledge of either.
            auto up = x, down = x;
            up[static_cast<Eigen::Index>(k)] += knobs_[k].step;
            down[static_cast<Eigen::Index>(k)] -= knobs_[k].step;
            auto column = model(parts(up, blur_s_), up);
            auto const other = model(parts(down, blur_s_), down);
            for (std::size_t i = 0; i < column.size(); ++i)
                column[i] = (column[i] - other[i]) / (2 * knobs_[k].step);
            return column;
        });
        simulations_ += 2 * static_cast<int>(responses()) + 1;
        Eigen::MatrixXd J(samples, count);
        for (std::size_t k = 0; k < responses(); ++k)
            J.col(static_cast<Eigen::Index>(k)) =
                Eigen::Map<Eigen::VectorXd const>(columns[k].data(), samples);
        for (std::size_t p = 0; p < peaks_.size(); ++p)
            J.col(static_cast<Eigen::Index>(responses() + p)) =
                Eigen::Map<Eigen::VectorXd const>(here[p].data(), samples);
        auto const n = static_cast<Eigen::Index>(measured_.front().size());
        for (std::size_t d = 0; d < measured_.size(); ++d) {
            auto const level = static_cast<Eigen::Index>(baselines() + 2 * d);
            auto const first = static_cast<Eigen::Index>(d) * n;
            J.col(level).setZero();
            J.col(level + 1).setZero();
            J.col(level).segment(first, n).setOnes();
            J.col(level + 1).segment(first, n).setLinSpaced(n, -0.5, 0.5);
        }
        Eigen::VectorXd residual(samples), weight(samples);
        for (Eigen::Index i = 0; i < samples; ++i) {
            residual[i] = target_[static_cast<std::size_t>(i)] - y[static_cast<std::size_t>(i)];
            weight[i] = weight_[static_cast<std::size_t>(i)];
        }
        Linear out;
        Eigen::MatrixXd const weighted = weight.asDiagonal() * J;
        out.normal = J.transpose() * weighted;
        out.gradient = weighted.transpose() * residual;
        for (Eigen::Index k = 0; k < count; ++k) {
            double const prior = knobs_[static_cast<std::size_t>(k)].prior;
            out.normal(k, k) += 1 / (prior * prior);
            out.gradient[k] -= x[k] / (prior * prior);
        }
        out.cost = cost_of(y, x);
        return out;
    }

    double residual_rms(Eigen::VectorXd const& x) {
        auto const y = model(parts(x, 0), x);
        double sum = 0;
        std::size_t i = 0;
        for (auto const& detector : measured_)
            for (double const v : detector) sum += (v - y[i]) * (v - y[i]), ++i;
        return std::sqrt(sum / static_cast<double>(i));
    }

  private:
    std::vector<double> model(Parts const& parts, Eigen::VectorXd const& x) const {
        std::vector<double> out(parts.front().size());
        for (std::size_t p = 0; p < parts.size(); ++p) {
            double const factor = 1 + x[static_cast<Eigen::Index>(responses() + p)];
            for (std::size_t i = 0; i < out.size(); ++i) out[i] += factor * parts[p][i];
        }
        std::size_t const n = measured_.front().size();
        for (std::size_t d = 0; d < measured_.size(); ++d) {
            double const level = x[static_cast<Eigen::Index>(baselines() + 2 * d)],
                         slope = x[static_cast<Eigen::Index>(baselines() + 2 * d + 1)];
            for (std::size_t i = 0; i < n; ++i)
                out[d * n + i] +=
                    level + slope * (static_cast<double>(i) / static_cast<double>(n - 1) - 0.5);
        }
        return out;
    }

    double cost_of(std::vector<double> const& y, Eigen::VectorXd const& x) const {
        double sum = 0;
        for (std::size_t i = 0; i < y.size(); ++i)
            sum += weight_[i] * (target_[i] - y[i]) * (target_[i] - y[i]);
        for (std::size_t k = 0; k < knobs_.size(); ++k)
            sum += std::pow(x[static_cast<Eigen::Index>(k)] / knobs_[k].prior, 2);
        return sum;
    }

    Oven const& oven_;
    std::vector<double> const& amounts_;
    FitOptions const& options_;
    std::vector<Knob> knobs_;
    std::vector<gas::Component> peaks_;
    std::vector<std::vector<double>> measured_;
    std::vector<double> noise_, target_, weight_;
    double blur_s_{};
    int simulations_ = 0;
};

Result<std::vector<std::vector<double>>> mean_of(Oven const& oven,
                                                 std::vector<trace::Trace> const& runs) {
    auto const samples = static_cast<std::size_t>(std::ceil(oven.cycle_s * oven.rate_hz - 1e-9));
    std::vector<std::vector<double>> out(oven.detectors.size(), std::vector<double>(samples));
    for (auto const& run : runs) {
        if (run.signals.size() < oven.detectors.size())
            return fail(Errc::bad_input,
                        fmt::format("This run has {} detector(s), the method {}.",
                                    run.signals.size(),
                                    oven.detectors.size()),
                        run.source,
                        "give a run of this method");
        if (run.end_s() < 0.8 * oven.cycle_s)
            return fail(Errc::bad_input,
                        fmt::format("This run ends at {:.1f} s, the method's cycle at {:.1f} s.",
                                    run.end_s(),
                                    oven.cycle_s),
                        run.source,
                        "give a whole run");
        for (std::size_t d = 0; d < out.size(); ++d)
            for (std::size_t i = 0; i < samples; ++i) {
                double const x =
                    (static_cast<double>(i) / oven.rate_hz - run.start_s) / run.interval_s;
                auto const last = static_cast<double>(run.samples() - 1);
                double const p = std::clamp(x, 0.0, last);
                auto const k = static_cast<std::size_t>(std::min(p, last - 1));
                double const u = p - static_cast<double>(k);
                out[d][i] += ((1 - u) * run.signals[d][k] + u * run.signals[d][k + 1]) /
                             static_cast<double>(runs.size());
            }
    }
    // The baseline's level to start with: the middle of the tightest quarter of all samples. What
    // remains is a parameter of its own.
    for (auto& y : out) {
        auto sorted = y;
        std::sort(sorted.begin(), sorted.end());
        std::size_t const quarter = std::max<std::size_t>(sorted.size() / 4, 1);
        std::size_t tightest = 0;
        for (std::size_t i = 0; i + quarter < sorted.size(); ++i)
            if (sorted[i + quarter] - sorted[i] < sorted[tightest + quarter] - sorted[tightest])
                tightest = i;
        double const level = sorted[tightest + quarter / 2];
        for (double& v : y) v -= level;
    }
    return out;
}

}  // namespace

Result<Fitted> fit(Oven const& oven,
                   std::vector<double> const& amounts,
                   std::vector<trace::Trace> const& runs,
                   FitOptions const& options) {
    if (runs.empty())
        return fail(Errc::bad_input, "There is no run to fit to.", "RUN", "give at least one");
    GW_TRY(auto measured, mean_of(oven, runs));
    Problem problem(oven, amounts, std::move(measured), options);
    auto const count = static_cast<Eigen::Index>(problem.knobs().size());
    Eigen::VectorXd x = Eigen::VectorXd::Zero(count);
    Fitted out;
    out.stopped = "steps used up";
    Problem::Linear linear;
    double done = 0;
    auto const gone_on = [&](double steps) {
        double const all = static_cast<double>(options.blur_s.size()) * options.steps;
        return !options.go_on || options.go_on(std::min(1.0, (done + steps) / all));
    };
    auto const given_up = [] {
        return fail(Errc::conflict, "The fit was given up.", "fit", "start it again");
    };
    for (double const blur_s : options.blur_s) {
        if (!gone_on(0)) return given_up();
        problem.blur(blur_s);
        double damping = 1e-4;
        linear = problem.linear(x);
        for (int step = 0; step < options.steps; ++step) {
            bool better = false;
            double gain = 0;
            for (int attempt = 0; attempt < 6 && !better; ++attempt) {
                Eigen::MatrixXd damped = linear.normal;
                damped.diagonal() *= 1 + damping;
                Eigen::VectorXd const next = x + damped.ldlt().solve(linear.gradient);
                bool sane = next.allFinite();
                for (Eigen::Index k = 0; k < count; ++k)
                    sane = sane && std::abs(next[k]) <
                                       5 * problem.knobs()[static_cast<std::size_t>(k)].prior;
                double const cost = sane ? problem.cost(next) : 1e300;
                if (cost < linear.cost) {
                    gain = (linear.cost - cost) / linear.cost;
                    x = next;
                    damping = std::max(damping * 0.2, 1e-9);
                    better = true;
                } else {
                    damping *= 8;
                }
            }
            if (!better || gain < 1e-5) {
                out.stopped = "converged";
                break;
            }
            out.stopped = "steps used up";
            if (!gone_on(step + 1)) return given_up();
            linear = problem.linear(x);
        }
        done += options.steps;
    }
    // What remains beyond noise and model error widens every uncertainty alike.
    linear = problem.linear(x);
    Eigen::MatrixXd const covariance =
        linear.normal.ldlt().solve(Eigen::MatrixXd::Identity(count, count));
    double const samples = oven.cycle_s * oven.rate_hz * static_cast<double>(oven.detectors.size());
    double const wider = std::max(1.0, linear.cost / samples);
    out.residual_rms = problem.residual_rms(x);
    for (Eigen::Index k = 0; k < count; ++k) {
        auto const& knob = problem.knobs()[static_cast<std::size_t>(k)];
        FittedParameter p;
        p.name = knob.name;
        p.unit = knob.unit;
        double const u = std::min(std::sqrt(std::max(covariance(k, k), 0.0) * wider), knob.prior);
        p.value = knob.value(x[k]);
        p.u = u * std::abs(knob.slope(x[k]));
        p.prior_value = knob.value(0);
        p.prior_u = knob.prior * std::abs(knob.slope(0));
        p.determined = u < options.determined_below * knob.prior;
        out.parameters.push_back(p);
    }
    // Two undetermined parameters whose difference is known: stored peaks fix release minus store.
    for (Eigen::Index a = 0; a < count; ++a)
        for (Eigen::Index b = a + 1; b < count; ++b) {
            auto const& first = problem.knobs()[static_cast<std::size_t>(a)];
            auto const& second = problem.knobs()[static_cast<std::size_t>(b)];
            if (first.name.rfind("event:", 0) != 0 || second.name.rfind("event:", 0) != 0) continue;
            double const difference = covariance(a, a) + covariance(b, b) - 2 * covariance(a, b);
            double const u = std::sqrt(std::max(difference, 0.0) * wider);
            if (u < 0.2 * std::sqrt(std::min(covariance(a, a), covariance(b, b)) * wider))
                out.notes.push_back(fmt::format(
                    "only the time from \"{}\" to \"{}\" is known: {:.3f} s, u {:.3f} s",
                    first.name.substr(6),
                    second.name.substr(6),
                    second.value(x[b]) - first.value(x[a]),
                    u));
        }
    out.oven = problem.turned(x);
    for (std::size_t s = 0; s < out.oven.species.size(); ++s)
        for (auto const& p : out.parameters)
            if (p.name == "response:" + std::string(gas::name(out.oven.species[s].reported_as)))
                out.oven.species[s].response *= p.value;
    out.simulations = problem.simulations();
    return out;
}

}  // namespace gw::oven
