#include "trace/followed_cluster.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace gw::trace {

double centre_of(Emg const& shape) { return shape.mu + shape.tau; }
double width_of(Emg const& shape) { return std::hypot(shape.sigma, shape.tau); }

std::optional<ClusterFit> fit_again(PlannedCluster const& planned,
                                    std::span<double const> above,
                                    double from_s,
                                    double interval_s,
                                    double shift_s,
                                    double noise,
                                    std::vector<std::pair<std::size_t, std::size_t>> ignored) {
    double const sum = std::accumulate(above.begin(), above.end(), 0.0) * interval_s;
    double const more = sum / planned.area;
    if (!(more > 0.1 && more < 10)) return std::nullopt;
    auto start = planned.shapes;
    for (auto& shape : start) shape.area *= more, shape.mu += shift_s;
    ClusterFitOptions options;
    options.one_column = true;
    options.ignored = std::move(ignored);
    auto fit = fit_cluster(above, from_s, interval_s, noise, start, options);
    if (!fit.converged || !(fit.freedom() > 0)) return std::nullopt;
    // What the form of the shapes leaves over grows with the peaks; what noise leaves over
    // scatters.
    double const excess = (fit.misfit - 1) * fit.freedom(), scatter = std::sqrt(2 * fit.freedom());
    if (excess > 1.3 * std::max(1.0, more * more) * std::max(0.0, planned.excess) + 5 * scatter)
        return std::nullopt;
    for (std::size_t k = 0; k < fit.peaks.size(); ++k) {
        auto const &was = start[k], &is = fit.peaks[k];
        if (!(fit.departure[k] < 0.06) || !(is.area > 0.1 * was.area && is.area < 10 * was.area) ||
            std::abs(centre_of(is) - centre_of(was)) > width_of(was) ||
            std::abs(std::log(width_of(is) / width_of(was))) > 0.15)
            return std::nullopt;
        if (k > 0 && centre_of(is) <= centre_of(fit.peaks[k - 1])) return std::nullopt;
    }
    return fit;
}

}  // namespace gw::trace
