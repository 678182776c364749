#include "trace/clusters.hpp"

namespace gw::trace {

std::vector<Cluster> clusters(std::vector<Region> const& peaks) {
    std::vector<Cluster> out;
    for (std::size_t a = 0, b = 0; a < peaks.size(); a = b) {
        b = a + 1;
        while (b < peaks.size() && peaks[b - 1].joined_after && peaks[b].joined_before) ++b;
        out.push_back({a, b});
    }
    return out;
}

std::vector<std::pair<std::size_t, std::size_t>> disturbed_samples(Survey const& s,
                                                                   std::size_t first,
                                                                   std::size_t last) {
    std::vector<std::pair<std::size_t, std::size_t>> out;
    auto const add = [&](double from_s, double to_s) {
        if (to_s < s.time(first) || from_s > s.time(last - 1)) return;
        std::size_t const from = std::max(s.index(from_s), first),
                          to = std::min(s.index(to_s) + 1, last);
        if (from < to) out.emplace_back(from - first, to - first);
    };
    for (auto const& d : s.disturbances)
        add(d.at_s - event_before_s, std::clamp(d.end_s, d.at_s + 0.2, d.at_s + 0.8));
    for (auto const& e : s.options.events) add(e.at_s - event_before_s, e.at_s + event_after_s);
    return out;
}

Emg first_shape(Survey const& s, Region const& p) {
    if (p.told) return *p.told;
    double const width = std::min(p.shape.width_half_s, 2.6 * p.candidate.scale_s);
    double const sigma = std::max(0.5 * s.dt, 0.85 * width / half_width_of_sigma);
    double const tau = 0.35 * sigma;
    return {p.shape.height * sigma * 2.6, p.shape.apex_s - 0.3 * tau, sigma, tau};
}

std::vector<Emg> first_shapes(Survey const& s, Regions const& r, Cluster const& c) {
    std::vector<Emg> out;
    for (std::size_t k = c.first; k < c.last; ++k) out.push_back(first_shape(s, r.peaks[k]));
    return out;
}

}  // namespace gw::trace
