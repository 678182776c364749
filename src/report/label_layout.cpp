#include "report/label_layout.hpp"

#include <algorithm>
#include <cmath>

namespace gw::report {

namespace {

// Least squares under p[i+1] - p[i] >= apart: with q[i] = p[i] - i apart that is isotonic
// regression, which pooling adjacent violators solves.
std::vector<double> nearest_spaced(std::vector<LabelWish> const& wishes,
                                   std::vector<std::size_t> const& kept,
                                   double apart) {
    struct Pool {
        double sum{};
        std::size_t count{};
        [[nodiscard]] double mean() const { return sum / static_cast<double>(count); }
    };
    std::vector<Pool> pools;
    for (std::size_t i = 0; i < kept.size(); ++i) {
        pools.push_back({wishes[kept[i]].at - static_cast<double>(i) * apart, 1});
        while (pools.size() > 1 && pools[pools.size() - 2].mean() > pools.back().mean()) {
            auto const last = pools.back();
            pools.pop_back();
            pools.back().sum += last.sum;
            pools.back().count += last.count;
        }
    }
    std::vector<double> places;
    for (auto const& pool : pools)
        for (std::size_t n = 0; n < pool.count; ++n)
            places.push_back(pool.mean() + static_cast<double>(places.size()) * apart);
    return places;
}

}  // namespace

std::vector<LabelPlace> spread_labels(std::vector<LabelWish> const& wishes,
                                      double apart,
                                      double lowest) {
    std::vector<std::size_t> kept;
    for (std::size_t i = 0; i < wishes.size(); ++i) kept.push_back(i);
    while (!kept.empty()) {
        auto places = nearest_spaced(wishes, kept, apart);
        for (std::size_t i = 0; i < places.size(); ++i)
            places[i] = std::max(places[i], lowest + static_cast<double>(i) * apart);
        for (std::size_t i = places.size(); i-- > 0;) {
            places[i] = std::min(places[i], wishes[kept[i]].highest);
            if (i + 1 < places.size()) places[i] = std::min(places[i], places[i + 1] - apart);
        }
        if (places.front() >= lowest - 1e-9) {
            std::vector<LabelPlace> out;
            for (std::size_t i = 0; i < places.size(); ++i) out.push_back({kept[i], places[i]});
            return out;
        }
        kept.erase(std::min_element(kept.begin(), kept.end(), [&](std::size_t a, std::size_t b) {
            return wishes[a].weight < wishes[b].weight;
        }));
    }
    return {};
}

std::vector<double> round_ticks(double low, double high, int wanted) {
    if (!(high > low) || !std::isfinite(high - low)) return {};
    double const rough = (high - low) / std::max(wanted, 1);
    double const power = std::pow(10.0, std::floor(std::log10(rough)));
    double step = 10 * power;
    for (double const mantissa : {1.0, 2.0, 5.0})
        if (mantissa * power >= rough * (1 - 1e-9)) {
            step = mantissa * power;
            break;
        }
    std::vector<double> ticks;
    double const first = std::ceil(low / step - 1e-9), last = std::floor(high / step + 1e-9);
    for (double i = first; i <= last && ticks.size() < 1000; ++i) ticks.push_back(i * step);
    // One tick alone gives no scale: finer ones until there are two.
    if (ticks.size() < 2 && wanted < 20) return round_ticks(low, high, wanted + 2);
    return ticks;
}

int tick_decimals(std::vector<double> const& ticks) {
    if (ticks.size() < 2) return 0;
    double const step = ticks[1] - ticks[0];
    return std::clamp(static_cast<int>(std::ceil(-std::log10(step) - 1e-9)), 0, 9);
}

}  // namespace gw::report
