#include "trace/suspects.hpp"

#include "trace/kick_fit.hpp"

namespace gw::trace {

namespace {

struct Edge {
    std::size_t at{};
    double jump{};
};

// The largest change between the tenths of a second before and after a sample.
Edge sharpest_edge(Survey const& s, std::vector<double> const& above, Region const& p) {
    auto const arm = std::max<std::size_t>(1, static_cast<std::size_t>(std::lround(0.1 / s.dt)));
    auto const margin = static_cast<std::size_t>(0.6 / s.dt) + arm;
    std::size_t const from = std::max(p.first > margin ? p.first - margin : 0, arm),
                      to = std::min(p.last + margin, s.y.size() - arm);
    Edge best;
    for (std::size_t i = from; i < to; ++i) {
        double change = 0;
        for (std::size_t k = 0; k < arm; ++k) change += above[i + k] - above[i - 1 - k];
        change /= static_cast<double>(arm);
        if (std::abs(change) > std::abs(best.jump)) best = {i, change};
    }
    return best;
}

}  // namespace

std::vector<std::size_t> kicks_among_peaks(Survey const& s, Regions const& r) {
    std::vector<std::size_t> out;
    for (std::size_t k = 0; k < r.peaks.size(); ++k) {
        auto const& p = r.peaks[k];
        auto const edge = sharpest_edge(s, r.above, p);
        if (std::abs(edge.jump) < 0.3 * std::abs(p.shape.height) || edge.at < 8) continue;
        std::size_t const low =
            k == 0 ? 0 : r.peaks[k - 1].top + (r.peaks[k - 1].last - r.peaks[k - 1].top) / 2;
        std::size_t const high = k + 1 < r.peaks.size() ? r.peaks[k + 1].first : s.y.size();
        auto const before = static_cast<std::size_t>(1.5 / s.dt),
                   after = static_cast<std::size_t>(3 / s.dt);
        // A kick's first sample is where the noise lets it be: look a little around.
        double kick = INFINITY;
        std::size_t best_at = edge.at;
        for (std::size_t at = edge.at - 2; at <= edge.at + 1; ++at) {
            KickWindow const w{std::max(low, at > before ? at - before : 0),
                               at,
                               std::min({high, at + after, s.y.size()}),
                               0};
            if (w.from + 4 > w.at || w.at + 6 > w.to) continue;
            if (double const chi = kick_in(r.above, w, s.dt, s.fast).chi; chi < kick)
                kick = chi, best_at = at;
        }
        KickWindow const w{std::max(low, best_at > before ? best_at - before : 0),
                           best_at,
                           std::min({high, best_at + after, s.y.size()}),
                           0};
        if (!std::isfinite(kick) || kick > 3) continue;
        double const least_sigma =
            0.85 * s.options.narrowest_half_width_s / half_width_of_sigma / s.dt;
        double const sigma =
            std::max(least_sigma, p.shape.width_half_s / (1.1 * half_width_of_sigma * s.dt));
        double const mu = (p.shape.apex_s - s.time(w.from)) / s.dt - 0.2 * sigma;
        double const peak = peak_chi(r.above, w, {1, mu, sigma, 0.4 * sigma}, least_sigma, s.fast);
        // Two more parameters, and a choice among onsets: a tie is a peak.
        if ((peak - kick) * static_cast<double>(w.to - w.from) > 12) out.push_back(best_at);
    }
    return out;
}

}  // namespace gw::trace
