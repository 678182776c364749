// From the runs on the reference gases to the true response function of one component.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "assay/performance.hpp"
#include "metrology/statistics.hpp"

namespace gw::assay {

double Scatter::at(double area) const {
    return power == 0 ? value : value * std::pow(std::max(area, 0.0), power);
}

Scatter scatter_of(std::vector<std::vector<double>> const& areas) {
    Scatter best;
    double best_likelihood = -std::numeric_limits<double>::infinity();
    for (double const power : {1.0, 0.5, 0.0}) {
        double squares = 0, logs = 0;
        int nu = 0;
        for (auto const& runs : areas) {
            if (runs.size() < 2) continue;
            double const m = std::abs(metrology::mean(runs));
            if (!(m > 0)) continue;
            double const s = metrology::standard_deviation(runs);
            auto const each = static_cast<double>(runs.size() - 1);
            double const law = std::pow(m, power);
            squares += each * (s / law) * (s / law);
            logs += each * std::log(law * law);
            nu += static_cast<int>(runs.size() - 1);
        }
        if (nu == 0) return best;
        double const variance = squares / nu;
        double const likelihood = -0.5 * (nu * std::log(std::max(variance, 1e-300)) + logs);
        if (likelihood > best_likelihood) {
            best_likelihood = likelihood;
            best = {std::sqrt(variance), power, nu};
        }
    }
    return best;
}

namespace {

// A column that repeats to the last digit still has digits of limited number.
constexpr double least_relative_u = 1e-7;

struct Seen {
    metrology::ResponsePoints points;
    Scatter scatter;
};

Seen seen_of(PerformanceSpec const& spec, std::size_t component) {
    Seen out;
    std::vector<std::vector<double>> areas;
    std::vector<double> u_x, n;
    for (auto const& gas : spec.gases) {
        auto const& runs = gas.areas[component];
        if (runs.empty()) continue;
        areas.push_back(runs);
        out.points.x.push_back(gas.percent[component].value);
        out.points.y.push_back(metrology::mean(runs));
        u_x.push_back(gas.percent[component].u);
        n.push_back(static_cast<double>(runs.size()));
    }
    out.scatter = scatter_of(areas);
    std::vector<double> u_y;
    for (std::size_t i = 0; i < n.size(); ++i) {
        double const y = out.points.y[i];
        u_y.push_back(
            std::max(out.scatter.at(y) / std::sqrt(n[i]), least_relative_u * std::abs(y)));
    }
    out.points.Vx = SquareMatrix::of_standard_uncertainties(u_x);
    out.points.Vy = SquareMatrix::of_standard_uncertainties(u_y);
    return out;
}

// Chi-squared at 95 %; when the scatter itself is estimated from few runs the limit is that of F.
double limit_of(int degrees_of_freedom, int of_scatter) {
    if (degrees_of_freedom <= 0) return 0;
    if (of_scatter <= 0) return metrology::chi_squared_quantile(0.95, degrees_of_freedom);
    return degrees_of_freedom * metrology::f_quantile(0.95, degrees_of_freedom, of_scatter);
}

}  // namespace

Result<ResponseFunction> response_function(PerformanceSpec const& spec, std::size_t component) {
    auto const seen = seen_of(spec, component);
    auto const& x = seen.points.x;
    std::size_t const n = x.size();
    ResponseFunction out;
    out.component = spec.components[component];
    out.gases = n;
    out.scatter = seen.scatter;
    out.lowest = *std::min_element(x.begin(), x.end());
    out.highest = *std::max_element(x.begin(), x.end());
    auto distinct = x;
    std::sort(distinct.begin(), distinct.end());
    distinct.erase(std::unique(distinct.begin(), distinct.end()), distinct.end());
    std::size_t const different = distinct.size();

    std::vector<metrology::FitShape> candidates;
    auto const asked = spec.order[component];
    if (asked && different >= *asked + 1) {
        candidates.push_back({*asked, false});
    } else if (different >= 3) {
        std::size_t const most = different >= 7 ? 3 : different >= 5 ? 2 : 1;
        for (std::size_t order = 1; order <= most; ++order) candidates.push_back({order, false});
    } else {
        candidates.push_back({1, true});
        if (different == 2) candidates.push_back({1, false});
        out.unseen_curvature = spec.unseen_curvature;
    }

    bool chosen = false;
    double best = std::numeric_limits<double>::infinity();
    for (auto const& shape : candidates) {
        GW_TRY(auto const fit, metrology::fit_response(seen.points, shape));
        double const limit = limit_of(fit.degrees_of_freedom, seen.scatter.degrees_of_freedom);
        bool const fits = fit.degrees_of_freedom == 0 || fit.chi_squared <= limit;
        double const reduced =
            fit.degrees_of_freedom > 0 ? fit.chi_squared / fit.degrees_of_freedom : 0;
        if (chosen && !fits && !(reduced < best)) continue;
        out.fit = fit;
        out.order = shape.order;
        out.through_zero = shape.through_zero;
        out.chi_squared_limit = limit;
        out.fits = fits;
        best = reduced;
        chosen = true;
        if (fits) break;
    }
    if (!out.fits) {
        // The points lie further off than their uncertainties allow: so does the curve.
        out.widened = std::sqrt(
            std::max(1.0, out.fit.chi_squared / static_cast<double>(out.fit.degrees_of_freedom)));
        for (double& cell : out.fit.V.cells()) cell *= out.widened * out.widened;
    }
    return out;
}

}  // namespace gw::assay
