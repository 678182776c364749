#include "assay/performance.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "assay/range_draw.hpp"
#include "base/parallel.hpp"
#include "base/text.hpp"

namespace gw::assay {

namespace {

constexpr std::size_t properties = gas::real_property_count;
constexpr std::size_t cv = 0;  // RealProperty::gross_cv_volume
constexpr double coverage = 2;

// One component's sum, with all that does not depend on the composition taken out: the raw amount
// is r(x) = F(x) / F(x_cal) x_cal, and its relative variance.
class RawAmount {
  public:
    RawAmount(ResponseFunction const& function, Measured calibration)
        : f_(function.fit.f),
          V_(function.fit.V),
          scatter_(function.scatter),
          at_calibration_(calibration.value),
          curvature_(function.unseen_curvature) {
        double const area = f_(calibration.value);
        per_area_ = calibration.value / area;
        basis_ = f_.basis(calibration.value);
        for (double& b : basis_) b /= area;
        relative_u_calibration_ = calibration.u / calibration.value;
        departs_ = !function.through_zero && function.unseen_curvature > 0;
    }

    [[nodiscard]] double operator()(double percent) const {
        return std::max(f_(percent) * per_area_, 0.0);
    }

    /// Raw amount and its variance, (mol%)^2.
    double with_variance(double percent, double& variance) const {
        double const area = std::max(f_(percent), 0.0);
        double const raw = area * per_area_;
        double const s = scatter_.at(area) * per_area_;
        double const calibration = raw * relative_u_calibration_;
        // F(x)/F(x_cal) varies with the coefficients by basis(x)/F(x_cal) - F(x) basis(x_cal)/F^2.
        std::array<double, 4> g{};
        double const t = (percent - f_.centre) / f_.scale;
        double power = f_.first == 1 ? t : 1.0;
        double const per_raw = per_area_;
        std::size_t const n = std::min(basis_.size(), g.size());
        for (std::size_t z = 0; z < n; ++z) {
            g[z] = per_raw * power - raw * basis_[z];
            power *= t;
        }
        double function = 0;
        for (std::size_t a = 0; a < n; ++a) {
            double row = 0;
            for (std::size_t b = 0; b < n; ++b) row += V_(a, b) * g[b];
            function += g[a] * row;
        }
        variance = s * s + calibration * calibration + std::max(function, 0.0);
        if (curvature_ > 0) {
            double const unseen =
                raw * curvature_ * std::log(std::max(percent, 1e-9) / at_calibration_);
            double const departure = departs_ ? raw - percent : 0.0;
            variance += unseen * unseen + departure * departure;
        }
        return raw;
    }

  private:
    metrology::Polynomial f_;
    SquareMatrix V_;
    Scatter scatter_;
    double per_area_{}, relative_u_calibration_{}, at_calibration_{}, curvature_{};
    bool departs_ = false;
    std::vector<double> basis_;  // of the calibration amount, over F there
};

struct Model {
    std::vector<RawAmount> raw;
    gas::PropertySums sums;
};

Result<Model> model_of(PerformanceSpec const& spec,
                       std::vector<ResponseFunction> const& functions,
                       std::vector<Measured> const& calibration) {
    GW_TRY(auto sums, gas::PropertySums::prepare(spec.components, spec.heavy_end, spec.reference));
    Model out{{}, std::move(sums)};
    for (std::size_t i = 0; i < functions.size(); ++i) {
        if (!(functions[i].fit.f(calibration[i].value) > 0))
            return fail(Errc::out_of_range,
                        fmt::format("The response function of {} is not above zero at the "
                                    "calibration gas.",
                                    gas::name(spec.components[i])),
                        "reference_gases",
                        "check its amounts and responses");
        out.raw.emplace_back(functions[i], calibration[i]);
    }
    return out;
}

struct Scratch {
    std::vector<double> x, indicated, raw, variance, gradient, at;
    explicit Scratch(std::size_t n)
        : x(n), indicated(n), raw(n), variance(n), gradient(properties * n), at(n) {}
};

// Errors of one composition: x (mol/mol) in scratch.x; mol% and percent out.
void errors_of(Model const& model,
               Scratch& s,
               std::span<double> error,
               std::span<double> u,
               gas::PropertySums::Values& property_error,
               gas::PropertySums::Values& property_u) {
    std::size_t const n = s.x.size();
    double sum = 0;
    for (std::size_t i = 0; i < n; ++i) {
        s.raw[i] = model.raw[i].with_variance(100 * s.x[i], s.variance[i]);
        sum += s.raw[i];
    }
    double all = 0;  // ISO 6974-2: variances of the raw amounts, seen through the sum
    for (std::size_t i = 0; i < n; ++i) {
        s.indicated[i] = s.raw[i] / sum;
        s.variance[i] /= sum * sum;
        all += s.variance[i];
    }
    for (std::size_t i = 0; i < n; ++i) {
        double const x = s.indicated[i];
        error[i] = 100 * (x - s.x[i]);
        u[i] = 100 * std::sqrt(std::max((1 - 2 * x) * s.variance[i] + x * x * all, 0.0));
    }
    auto const truth = model.sums.values(s.x);
    auto const shown = model.sums.values(s.indicated, s.gradient);
    for (std::size_t p = 0; p < properties; ++p) {
        double const* g = s.gradient.data() + p * n;
        double middle = 0;
        for (std::size_t i = 0; i < n; ++i) middle += g[i] * s.indicated[i];
        double variance = 0;
        for (std::size_t i = 0; i < n; ++i)
            variance += (g[i] - middle) * (g[i] - middle) * s.variance[i];
        property_error[p] = 100 * (shown[p] / truth[p] - 1);
        property_u[p] = 100 * std::sqrt(variance) / truth[p];
    }
}

// Sums over a chunk of compositions; chunks are joined in their order.
struct Tally {
    std::vector<double> sum, squares, largest;
    std::vector<std::size_t> inside = std::vector<std::size_t>(properties, 0);
    std::vector<double> worst;
    double worst_cv = -1;
    std::size_t uneven = 0;
};

void take(double error, double u, std::size_t at, Tally& tally) {
    tally.sum[at] += error;
    tally.squares[at] += u * u;
    if (std::abs(error) > std::abs(tally.largest[at])) tally.largest[at] = error;
}

Tally tally_of(PerformanceSpec const& spec,
               Model const& model,
               RangeDraw const& draw,
               std::size_t from,
               std::size_t to) {
    std::size_t const n = spec.components.size();
    Tally out;
    out.sum.assign(n + properties, 0.0);
    out.squares = out.largest = out.sum;
    Scratch s(n);
    std::vector<double> error(n), u(n);
    gas::PropertySums::Values property_error{}, property_u{};
    for (std::size_t k = from; k < to; ++k) {
        if (!draw.draw(spec.seed, k, s.x)) ++out.uneven;
        errors_of(model, s, error, u, property_error, property_u);
        for (std::size_t i = 0; i < n; ++i) take(error[i], u[i], i, out);
        for (std::size_t p = 0; p < properties; ++p) {
            take(property_error[p], property_u[p], n + p, out);
            if (spec.limit_percent[p] &&
                std::abs(property_error[p]) + coverage * property_u[p] <= *spec.limit_percent[p])
                ++out.inside[p];
        }
        if (std::abs(property_error[cv]) > out.worst_cv) {
            out.worst_cv = std::abs(property_error[cv]);
            out.worst = s.x;
        }
    }
    return out;
}

// A fixed handful of compositions of the range with what the detectors make of them, to compare
// calibration gases on.
class CalibrationGases {
  public:
    CalibrationGases(PerformanceSpec const& spec,
                     std::vector<ResponseFunction> const& functions,
                     gas::PropertySums const& sums,
                     RangeDraw const& draw)
        : functions_(functions), sums_(sums), n_(spec.components.size()) {
        constexpr std::size_t handful = 400;
        std::vector<double> x(n_);
        for (std::size_t k = 0; k < handful; ++k) {
            draw.draw(spec.seed, k, x);
            truth_.push_back(sums_.values(x)[cv]);
            for (std::size_t i = 0; i < n_; ++i)
                area_.push_back(std::max(functions_[i].fit.f(100 * x[i]), 0.0));
        }
    }

    [[nodiscard]] CalibrationGasScore score(std::vector<double> x) const {
        CalibrationGasScore out{std::move(x), 0, 0};
        std::vector<double> per_area(n_), shown(n_);
        for (std::size_t i = 0; i < n_; ++i) {
            double const area = functions_[i].fit.f(100 * out.x[i]);
            per_area[i] = area > 0 ? out.x[i] / area : 0;
        }
        for (std::size_t k = 0; k < truth_.size(); ++k) {
            double sum = 0;
            for (std::size_t i = 0; i < n_; ++i) {
                shown[i] = area_[k * n_ + i] * per_area[i];
                sum += shown[i];
            }
            for (double& each : shown) each /= sum;
            double const error = 100 * (sums_.values(shown)[cv] / truth_[k] - 1);
            out.rms_percent += error * error;
            if (std::abs(error) > std::abs(out.largest_percent)) out.largest_percent = error;
        }
        out.rms_percent = std::sqrt(out.rms_percent / static_cast<double>(truth_.size()));
        return out;
    }

    // Moves amount from one component to another while the score falls; steps halve.
    [[nodiscard]] CalibrationGasScore best(PerformanceSpec const& spec,
                                           CalibrationGasScore start) const {
        for (double step = 0.25; step > 0.01; step *= 0.5) {
            bool moved = true;
            for (int round = 0; moved && round < 4; ++round) {
                moved = false;
                for (std::size_t i = 0; i < n_; ++i)
                    for (double const way : {step, -step}) {
                        auto x = start.x;
                        double const wanted = way * (spec.high[i] - spec.low[i]);
                        x[i] = std::clamp(x[i] + wanted, spec.low[i], spec.high[i]);
                        if (!settle(spec, x, i)) continue;
                        if (!(x[i] > 0)) continue;
                        auto const next = score(std::move(x));
                        if (next.rms_percent < start.rms_percent * (1 - 1e-6)) {
                            start = next;
                            moved = true;
                        }
                    }
            }
        }
        return start;
    }

  private:
    // The others make room in proportion to what they have, so that the sum is one again.
    static bool settle(PerformanceSpec const& spec, std::vector<double>& x, std::size_t but) {
        double sum = 0;
        for (double const each : x) sum += each;
        double const excess = sum - 1;
        double room = 0;
        for (std::size_t j = 0; j < x.size(); ++j)
            if (j != but) room += excess > 0 ? x[j] - spec.low[j] : spec.high[j] - x[j];
        if (std::abs(excess) > room || !(room > 0)) return std::abs(excess) < 1e-12;
        for (std::size_t j = 0; j < x.size(); ++j)
            if (j != but)
                x[j] -= excess * (excess > 0 ? x[j] - spec.low[j] : spec.high[j] - x[j]) / room;
        return true;
    }

    std::vector<ResponseFunction> const& functions_;
    gas::PropertySums const& sums_;
    std::size_t n_;
    std::vector<double> area_, truth_;
};

// Seven gases that lie far from each other in every component: the first near the middle, each
// next one of many drawn the furthest from its nearest neighbour (maximin).
std::vector<std::vector<double>> designed_gases(PerformanceSpec const& spec,
                                                RangeDraw const& draw) {
    constexpr std::size_t wanted = 7, drawn = 600;  // ISO 6143: seven for a third order
    std::size_t const n = spec.components.size();
    std::vector<std::vector<double>> candidates(drawn, std::vector<double>(n));
    std::vector<double> middle(n, 0.0);
    for (std::size_t k = 0; k < drawn; ++k) {
        draw.draw(spec.seed + 1, k, candidates[k]);
        for (std::size_t i = 0; i < n; ++i) middle[i] += candidates[k][i] / drawn;
    }
    auto const distance = [&](std::vector<double> const& a, std::vector<double> const& b) {
        double d = 0;
        for (std::size_t i = 0; i < n; ++i)
            if (double const span = spec.high[i] - spec.low[i]; span > 0)
                d += (a[i] - b[i]) * (a[i] - b[i]) / (span * span);
        return d;
    };
    std::vector<std::vector<double>> out{middle};
    std::vector<double> nearest(drawn);
    for (std::size_t k = 0; k < drawn; ++k) nearest[k] = distance(candidates[k], middle);
    while (out.size() < wanted) {
        auto const next = static_cast<std::size_t>(
            std::max_element(nearest.begin(), nearest.end()) - nearest.begin());
        out.push_back(candidates[next]);
        for (std::size_t k = 0; k < drawn; ++k)
            nearest[k] = std::min(nearest[k], distance(candidates[k], out.back()));
    }
    return out;
}

void warn_of_functions(PerformanceSpec const& spec, Performance& out) {
    std::vector<std::string> beyond;
    for (std::size_t i = 0; i < out.functions.size(); ++i) {
        auto const& f = out.functions[i];
        auto const name = gas::name(f.component);
        std::size_t const needed = f.through_zero ? 3 : 2 * f.order + 1;
        if (f.gases < needed) {
            out.reduced = true;
            out.warnings.push_back(
                f.gases < 3
                    ? fmt::format(
                          "{}: {} gas{} cannot show a curved response. The answer takes {} "
                          "and adds an uncertainty of {:.2g} % of the amount at e times the "
                          "calibrated one for what is not seen (common practice, no "
                          "source).",
                          name,
                          f.gases,
                          f.gases == 1 ? "" : "es",
                          f.through_zero ? "a response in proportion" : "a straight line",
                          100 * f.unseen_curvature)
                    : fmt::format("{}: {} gases for a function of order {}; ISO 6143 asks for {}.",
                                  name,
                                  f.gases,
                                  f.order,
                                  needed));
        }
        if (spec.order[i] && *spec.order[i] != f.order)
            out.warnings.push_back(
                fmt::format("{}: order {} was asked for, but {} gases carry order {} at most.",
                            name,
                            *spec.order[i],
                            f.gases,
                            f.order));
        if (!f.fits)
            out.warnings.push_back(fmt::format(
                "{}: no allowed function passes through the gases within their uncertainties "
                "(chi-squared {:.3g}, limit {:.3g}); the uncertainty of the function is widened "
                "{:.2g} "
                "times. A wrong certificate entry, drift or too few gases would look like this.",
                name,
                f.fit.chi_squared,
                f.chi_squared_limit,
                f.widened));
        if (f.scatter.degrees_of_freedom == 0)
            out.warnings.push_back(fmt::format(
                "{}: no gas was run twice, so the scatter of a run is not known and not in u.",
                name));
        double const low = 100 * spec.low[i], high = 100 * spec.high[i];
        double const slack = 0.02 * (high - low);
        if (f.gases >= 3 && (low < f.lowest - slack || high > f.highest + slack))
            beyond.push_back(fmt::format("{} ({:.4g} to {:.4g} mol%)", name, f.lowest, f.highest));
    }
    if (!beyond.empty())
        out.warnings.push_back(fmt::format(
            "The range reaches beyond what the gases hold; the functions are extended there: {}.",
            joined(beyond, ", ")));
}

}  // namespace

Result<PerformanceAt> performance_at(PerformanceSpec const& spec,
                                     std::vector<ResponseFunction> const& functions,
                                     std::vector<double> const& x) {
    GW_TRY(auto const model, model_of(spec, functions, spec.gases[spec.calibration_gas].percent));
    PerformanceAt out;
    Scratch s(x.size());
    s.x = x;
    out.error.resize(x.size());
    out.u.resize(x.size());
    errors_of(model, s, out.error, out.u, out.error_percent, out.u_percent);
    return out;
}

Result<Performance> evaluate_performance(PerformanceSpec const& spec, unsigned threads) {
    Performance out;
    out.warnings = spec.warnings;
    std::size_t const n = spec.components.size();
    for (std::size_t i = 0; i < n; ++i) {
        GW_TRY(auto function, response_function(spec, i));
        out.functions.push_back(std::move(function));
    }
    warn_of_functions(spec, out);
    GW_TRY(auto const model,
           model_of(spec, out.functions, spec.gases[spec.calibration_gas].percent));
    RangeDraw const draw(spec.low, spec.high);

    constexpr std::size_t chunk = 1000;
    ParallelOptions options;
    options.threads = threads;
    auto const tallies = parallel_map(
        (spec.compositions + chunk - 1) / chunk,
        [&](std::size_t c) {
            return tally_of(
                spec, model, draw, c * chunk, std::min(spec.compositions, (c + 1) * chunk));
        },
        options);
    auto const count = static_cast<double>(spec.compositions);
    std::vector<ErrorSummary> all(n + properties);
    std::vector<std::size_t> inside(properties, 0);
    std::size_t uneven = 0;
    double worst = -1;
    for (auto const& t : tallies) {
        for (std::size_t i = 0; i < all.size(); ++i) {
            all[i].mean += t.sum[i] / count;
            all[i].u += t.squares[i] / count;
            if (std::abs(t.largest[i]) > std::abs(all[i].largest)) all[i].largest = t.largest[i];
        }
        for (std::size_t p = 0; p < properties; ++p) inside[p] += t.inside[p];
        if (t.worst_cv > worst) {
            worst = t.worst_cv;
            out.worst = t.worst;
        }
        uneven += t.uneven;
    }
    for (auto& each : all) each.u = std::sqrt(each.u);
    out.components.assign(all.begin(), all.begin() + static_cast<std::ptrdiff_t>(n));
    for (std::size_t p = 0; p < properties; ++p) {
        out.properties[p] = all[n + p];
        if (spec.limit_percent[p])
            out.properties[p].share_inside = static_cast<double>(inside[p]) / count;
    }
    if (uneven * 100 > spec.compositions)
        out.warnings.emplace_back(
            "The amounts of the range leave little room for a sum of one: the compositions are not "
            "spread evenly over it.");

    CalibrationGases const gases(spec, out.functions, model.sums, draw);
    bool any = false;
    for (std::size_t g = 0; g < spec.gases.size(); ++g) {
        std::vector<double> x;
        bool whole = true;
        for (auto const& percent : spec.gases[g].percent) {
            x.push_back(percent.value / 100);
            whole = whole && percent.value > 0;
        }
        out.by_reference_gas.push_back(whole ? gases.score(x) : CalibrationGasScore{});
        if (whole && (!any || out.by_reference_gas[g].rms_percent <
                                  out.by_reference_gas[out.best_reference_gas].rms_percent)) {
            out.best_reference_gas = g;
            any = true;
        }
    }
    out.design = designed_gases(spec, draw);
    out.best_calibration_gas = gases.best(spec, gases.score(out.design.front()));
    return out;
}

}  // namespace gw::assay
