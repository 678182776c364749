#include "trace/form_doubt.hpp"

#include "trace/cluster_fit.hpp"
#include "trace/clusters.hpp"

namespace gw::trace {

namespace {

// What a form that is `error` off carries from one of two peaks to the other, as a share of the
// larger: seen with gamma and inverse Gaussian densities of many tails at ratios of ten, without
// noise. From 3 errors at a resolution of 0.7 over 0.4 at 1.0 to nothing at 1.5. It goes one way,
// from the smaller to the larger: three quarters of it are taken for the standard uncertainty.
double share_moved(double resolution) {
    return 0.75 * std::min(3.5, std::exp(5.7 - 6.6 * resolution));
}

// How much more a form is off than shows where two such peaks are fitted together: they make up for
// one another. Seen with the same.
double hidden(double resolution) { return 1 + std::exp(4.15 - 4.9 * resolution); }

double half_width(Emg const& shape) {
    return half_width_of_sigma * std::hypot(shape.sigma, shape.tau);
}

double resolution(Emg const& a, Emg const& b) {
    double const apart = (b.mu + 0.7 * b.tau) - (a.mu + 0.7 * a.tau);
    return 1.18 * std::abs(apart) / (half_width(a) + half_width(b));
}

// Root mean square of what shapes leave over, less what noise makes of it, over that of the signal.
double left_over(std::span<double const> above,
                 double start_s,
                 double dt,
                 std::vector<Emg> const& shapes,
                 double noise) {
    double left = 0, all = 0;
    for (std::size_t i = 0; i < above.size(); ++i) {
        double off = above[i];
        for (auto const& shape : shapes) off -= value(shape, start_s + static_cast<double>(i) * dt);
        left += off * off - noise * noise, all += above[i] * above[i];
    }
    // What noise itself may leave of its squares in one case of fifty is no form's.
    left -= 2 * noise * noise * std::sqrt(2 * static_cast<double>(above.size()));
    return all > 0 ? std::sqrt(std::max(0.0, left) / all) : 0;
}

}  // namespace

double form_error(Survey const& s, Regions const& r) {
    std::vector<double> errors;
    double const noise = std::max(r.rms, s.fast);
    for (auto const& c : clusters(r.peaks)) {
        auto const& p = r.peaks[c.first];
        if (c.last - c.first > 1 || p.sign < 0 || p.shape.height < 50 * noise || p.first == 0 ||
            p.last >= s.y.size() || !disturbed_samples(s, p.first, p.last).empty())
            continue;
        auto const above = std::span<double const>(r.above).subspan(p.first, p.last - p.first);
        auto const fit = fit_cluster(above, s.time(p.first), s.dt, noise, first_shapes(s, r, c));
        if (!fit.converged) continue;
        errors.push_back(left_over(above, s.time(p.first), s.dt, fit.peaks, noise));
    }
    if (errors.empty()) return 0;
    auto const middle = errors.begin() + static_cast<std::ptrdiff_t>(errors.size() / 2);
    std::nth_element(errors.begin(), middle, errors.end());
    return *middle;
}

double form_error(Survey const& s,
                  Regions const& r,
                  std::size_t first,
                  std::size_t last,
                  std::vector<Emg> const& shapes) {
    double closest = INFINITY;
    for (std::size_t k = 0; k + 1 < shapes.size(); ++k)
        closest = std::min(closest, resolution(shapes[k], shapes[k + 1]));
    return hidden(closest) *
           left_over(std::span<double const>(r.above).subspan(first, last - first),
                     s.time(first),
                     s.dt,
                     shapes,
                     std::max(r.rms, s.fast));
}

double form_doubt(std::vector<Emg> const& shapes, std::size_t k, double error) {
    double squares = 0;
    for (std::size_t j = 0; j < shapes.size(); ++j) {
        if (j == k) continue;
        auto const &a = shapes[k], &b = shapes[j];
        double const moved = share_moved(resolution(a, b)) * error * std::max(a.area, b.area);
        squares += moved * moved;
    }
    return std::sqrt(squares);
}

}  // namespace gw::trace
