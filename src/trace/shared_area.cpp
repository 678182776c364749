#include "trace/shared_area.hpp"

#include <algorithm>
#include <cmath>

#include "trace/survey.hpp"

namespace gw::trace {

namespace {

// Never more is in doubt than is carried.
double in_doubt(ClusterFit const& fit, std::size_t peak, double part) {
    auto const& shape = fit.peaks[peak];
    double const width = half_width_of_sigma * std::hypot(shape.sigma, 0.7 * shape.tau);
    double const height = shape.area / (1.064 * width);
    return std::min(std::abs(part), shape_doubt * fit.departure[peak] * height * width);
}

}  // namespace

Carried carried(ClusterFit const& fit, std::size_t k, double left, double right) {
    Carried out;
    auto const add = [&](std::size_t of, double sign, double part) {
        out.area += sign * part;
        out.u = std::hypot(out.u, in_doubt(fit, of, part));
    };
    for (std::size_t j = 0; j < fit.peaks.size(); ++j)
        if (j != k && trusted(fit, j))
            add(j, -1, area_before(fit.peaks[j], right) - area_before(fit.peaks[j], left));
    if (!trusted(fit, k)) return out;
    auto const& own = fit.peaks[k];
    if (k > 0) add(k, 1, area_before(own, left));
    if (k + 1 < fit.peaks.size()) add(k, 1, own.area - area_before(own, right));
    return out;
}

}  // namespace gw::trace
