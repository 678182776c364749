#include "trace/area_by_shape.hpp"

#include "trace/cluster_fit.hpp"
#include "trace/clusters.hpp"

namespace gw::trace {

namespace {

constexpr double agreement = 2.5;  // standard deviations within which sum and shape agree
constexpr double misfit = 3;       // scatters of the sum of squares that noise alone makes
// Of the part of the difference that was taken over: either of the two may be the one that is off.
constexpr double left_in_doubt = 0.5;

}  // namespace

AreaEstimate area_of_shape(
    ClusterFit const& fit, std::size_t peak, std::size_t first, std::size_t samples, double dt) {
    AreaEstimate out{fit.peaks[peak].area, first, std::vector<double>(samples, 0.0)};
    auto const& response = fit.response[4 * peak];
    for (std::size_t i = 0; i < response.size(); ++i) {
        std::size_t const from = fit.first + i * fit.block;
        for (std::size_t k = from; k < from + fit.block; ++k)
            out.weight[k] = response[i] / (static_cast<double>(fit.block) * dt);
    }
    return out;
}

std::optional<AreaEstimate> area_by_shape(Survey const& s, Regions const& r, Region const& p) {
    ClusterFitOptions options;
    options.responses = true, options.model_error = 0;
    // An event that nothing was seen of has left nothing that counts.
    bool const disturbed =
        std::any_of(s.disturbances.begin(), s.disturbances.end(), [&](Disturbance const& d) {
            return d.at_s < s.time(p.last) && d.end_s > s.time(p.first);
        });
    if (disturbed) options.ignored = disturbed_samples(s, p.first, p.last);
    auto const fit =
        fit_cluster(std::span<double const>(r.above).subspan(p.first, p.last - p.first),
                    s.time(p.first),
                    s.dt,
                    std::max(r.rms, s.fast),
                    {first_shape(s, p)},
                    options);
    if (!fit.converged || !describes(fit)) return std::nullopt;
    return area_of_shape(fit, 0, p.first, p.last - p.first, s.dt);
}

bool describes(ClusterFit const& fit) {
    return fit.freedom() > 8 && fit.excess() < misfit * std::sqrt(2 * fit.freedom());
}

std::optional<BelievedArea> believed(AreaNoise const& noise,
                                     double sum,
                                     AreaNoise::Spread const& of_sum,
                                     double u_sum,
                                     AreaEstimate const& shape) {
    if (shape.weight.size() != of_sum.weight.size() || shape.from != of_sum.first)
        return std::nullopt;
    auto const of_shape = noise.spread(shape.from, shape.weight);
    double const apart = shape.area - sum,
                 share = apart / (agreement * noise.u(mixed(of_shape, 1, of_sum, -1)));
    if (!(std::abs(share) < 1)) return std::nullopt;
    double const taken = 1 - share * share;
    BelievedArea const out{sum + taken * apart,
                           noise.u(mixed(of_shape, taken, of_sum, 1 - taken)),
                           left_in_doubt * taken * std::abs(apart)};
    if (std::hypot(out.u_noise, out.doubt) > u_sum) return std::nullopt;
    return out;
}

}  // namespace gw::trace
