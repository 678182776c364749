#include "trace/onset.hpp"

#include <algorithm>
#include <cmath>

namespace gw::trace {

// How far the next samples stand from the straight line through the ones before, against how far
// the signal goes in the following half second. A peak starts gently, so the ratio is small; a
// valve jumps.
std::vector<Onset> onsets(std::span<double const> y,
                          double start_s,
                          double dt,
                          double noise,
                          std::span<SignalEvent const> events) {
    auto const count = [&](double seconds, std::size_t low, std::size_t high) {
        return std::clamp(static_cast<std::size_t>(std::lround(seconds / dt)), low, high);
    };
    std::size_t const m = count(0.16, 4, 40), ahead = count(0.1, 1, 20), reach = count(0.6, 4, 150);
    std::vector<Onset> found;
    if (y.size() < m + reach + 2) return found;
    // Variance of (mean of `ahead` samples) - (line through m samples, carried on by about ahead /
    // 2).
    double const lever = 0.5 * static_cast<double>(m + ahead);
    double const md = static_cast<double>(m);
    double const sd = noise * std::sqrt(1 / static_cast<double>(ahead) + 1 / md +
                                        lever * lever * 12 / (md * (md * md - 1)));
    double const middle = 0.5 * (md - 1);
    std::vector<double> jump(y.size(), 0.0), level(y.size(), 0.0);
    for (std::size_t i = m; i + reach < y.size(); ++i) {
        double mean = 0, slope = 0, next = 0;
        for (std::size_t k = 0; k < m; ++k) {
            mean += y[i - m + k];
            slope += (static_cast<double>(k) - middle) * y[i - m + k];
        }
        mean /= md;
        slope *= 12 / (md * (md * md - 1));
        for (std::size_t k = 0; k < ahead; ++k) next += y[i + k];
        jump[i] = next / static_cast<double>(ahead) - (mean + slope * lever);
        level[i] = mean + slope * middle;
    }
    for (std::size_t i = m; i + reach < y.size(); ++i) {
        if (std::abs(jump[i]) < 7 * sd) continue;
        // Where the signal was bending already, the line through it misses by as much just before.
        double usual = 0;
        for (std::size_t k = ahead; k <= ahead + m / 2 && k <= i; ++k)
            usual = std::max(usual, std::abs(jump[i - k]));
        if (std::abs(jump[i]) < 4 * usual) continue;
        double excursion = 0;
        for (std::size_t k = 0; k < reach; ++k)
            excursion = std::max(excursion, std::abs(y[i + k] - level[i]));
        bool known = false;
        for (auto const& event : events)
            known = known ||
                    std::abs(start_s + static_cast<double>(i) * dt - event.at_s) < 0.5 + 2 * dt;
        // At few samples a second the foot of a narrow peak jumps too: ask for more there.
        double const needed = dt > 0.045 ? (known ? 0.5 : 0.85) : (known ? 0.14 : 0.25);
        if (std::abs(jump[i]) < needed * excursion) continue;
        // The mean of the next samples sees the jump coming: the onset is where it is largest.
        if (!found.empty() && i - found.back().at <= ahead + 2) {
            if (std::abs(jump[i]) > std::abs(found.back().jump))
                found.back() = {i, jump[i], known || found.back().known};
            continue;
        }
        found.push_back({i, jump[i], known});
    }
    return found;
}

std::size_t first_disturbed(std::span<double const> y,
                            Onset const& onset,
                            std::size_t m,
                            double noise) {
    std::size_t at = onset.at;
    for (int back = 0; back < 3 && at > m + 1; ++back) {
        double level = 0, slope = 0;
        double const middle = 0.5 * static_cast<double>(m - 1);
        double spread = 0;
        for (std::size_t k = 0; k < m; ++k) {
            double const u = static_cast<double>(k) - middle;
            level += y[at - 1 - m + k], slope += u * y[at - 1 - m + k], spread += u * u;
        }
        double const predicted = level / static_cast<double>(m) + slope / spread * (middle + 1);
        double const off = y[at - 1] - predicted;
        if (off * onset.jump < 0 ||
            std::abs(off) < std::max(5.5 * noise, 0.05 * std::abs(onset.jump)))
            break;
        --at;
    }
    return at;
}

}  // namespace gw::trace
