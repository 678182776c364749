#include "assay/alignment.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

namespace gw::assay {

namespace {

constexpr double least_stretch = 0.90, most_stretch = 1.11, coarse = 0.002, fine = 0.0005;
constexpr double missing = 3.0;  // the price of an expected peak that nothing stands for
constexpr double change = 1.5;   // of another origin than the peak before has
// A window leaves room for drift; under a stretch that is right the rest is small.
constexpr double share_of_window = 0.3;
constexpr double clear_gain = 2;  // less than this and the times as stated, or nothing, stand

struct Fit {
    double cost = std::numeric_limits<double>::infinity();
    double stretch = 1;
    std::vector<std::pair<std::size_t, std::size_t>> pairs;  // peak, expected; backwards in time
    std::vector<double> retention_s;
};

struct Matcher {
    std::vector<trace::Peak> const& peaks;
    std::vector<ExpectedPeak> const& expected;
    std::vector<double> origins;  // the last stands for "does not move"

    [[nodiscard]] double at(std::size_t e, std::size_t origin, double stretch) const {
        double const t = expected[e].retention_s;
        if (origin + 1 == origins.size() || origins[origin] > t) return t;
        return origins[origin] + stretch * (t - origins[origin]);
    }

    // Faint peaks are cheap to leave without a name, large ones are not.
    [[nodiscard]] std::vector<double> prices() const {
        double largest = 0;
        for (auto const& p : peaks) largest = std::max(largest, std::abs(p.height));
        std::vector<double> out;
        for (auto const& p : peaks) {
            double const share = largest > 0 ? std::max(std::abs(p.height) / largest, 1e-6) : 1e-6;
            out.push_back(0.05 + 0.15 * (6 + std::log10(share)));
        }
        return out;
    }

    // Over (peaks seen, expected seen, origin of the last pair): take a pair, leave a peak, or
    // leave an expected one.
    [[nodiscard]] Fit best(double stretch, std::vector<double> const& price) const {
        std::size_t const n = peaks.size(), m = expected.size(), k = origins.size();
        struct Cell {
            double cost = std::numeric_limits<double>::infinity();
            std::size_t from{};
            char how{};
        };
        std::vector<Cell> cells((n + 1) * (m + 1) * k);
        auto const cell = [&](std::size_t i, std::size_t j, std::size_t o) {
            return (i * (m + 1) + j) * k + o;
        };
        for (std::size_t o = 0; o < k; ++o) cells[cell(0, 0, o)].cost = 0;
        for (std::size_t i = 0; i <= n; ++i)
            for (std::size_t j = 0; j <= m; ++j) {
                std::size_t cheapest = 0;
                if (i > 0 && j > 0)
                    for (std::size_t o = 1; o < k; ++o)
                        if (cells[cell(i - 1, j - 1, o)].cost <
                            cells[cell(i - 1, j - 1, cheapest)].cost)
                            cheapest = o;
                for (std::size_t o = 0; o < k; ++o) {
                    auto& here = cells[cell(i, j, o)];
                    auto const offer = [&](std::size_t from, double extra, char how) {
                        if (cells[from].cost + extra < here.cost)
                            here = {cells[from].cost + extra, from, how};
                    };
                    if (i > 0) offer(cell(i - 1, j, o), price[i - 1], 'p');
                    if (j > 0) offer(cell(i, j - 1, o), missing, 'e');
                    if (i == 0 || j == 0) continue;
                    double const off = (peaks[i - 1].apex_s - at(j - 1, o, stretch)) /
                                       (share_of_window * expected[j - 1].window_s);
                    if (std::abs(off) > 1) continue;
                    offer(cell(i - 1, j - 1, o), off * off, 'm');
                    offer(cell(i - 1, j - 1, cheapest), off * off + change, 'm');
                }
            }
        Fit out;
        out.stretch = stretch;
        std::size_t at_end = 0;
        for (std::size_t o = 0; o < k; ++o)
            if (cells[cell(n, m, o)].cost < out.cost)
                out.cost = cells[cell(n, m, o)].cost, at_end = o;
        out.retention_s.resize(m);
        for (std::size_t i = n, j = m, here = cell(n, m, at_end); i > 0 || j > 0;) {
            auto const& c = cells[here];
            std::size_t const o = here % k;
            if (c.how == 'm') {
                --i, --j;
                out.pairs.emplace_back(i, j);
                out.retention_s[j] = at(j, o, stretch);
            } else if (c.how == 'p') {
                --i;
            } else {
                --j;
                out.retention_s[j] = at(j, o, stretch);
            }
            here = c.from;
        }
        return out;
    }
};

std::vector<double> origins_of(std::vector<double> const& events) {
    std::vector<double> out{0.0};
    for (std::size_t i = 0; i < events.size(); ++i) {
        out.push_back(events[i]);
        out.push_back(2 * events[i]);
        for (std::size_t j = 0; j < i; ++j) out.push_back(events[i] - events[j]);
    }
    std::sort(out.begin(), out.end());
    out.erase(
        std::unique(
            out.begin(), out.end(), [](double a, double b) { return std::abs(a - b) < 0.05; }),
        out.end());
    out.push_back(std::numeric_limits<double>::infinity());
    return out;
}

}  // namespace

std::optional<Alignment> align(std::vector<trace::Peak> const& peaks,
                               std::vector<ExpectedPeak> const& expected,
                               std::vector<double> const& events) {
    if (peaks.size() < 3 || expected.size() < 3) return std::nullopt;
    Matcher const matcher{peaks, expected, origins_of(events)};
    auto const price = matcher.prices();
    std::vector<Fit> tried;
    for (double s = least_stretch; s <= most_stretch; s += coarse)
        tried.push_back(matcher.best(s, price));
    auto const cheaper = [](Fit const& a, Fit const& b) { return a.cost < b.cost; };
    Fit best = *std::min_element(tried.begin(), tried.end(), cheaper);
    for (double s = best.stretch - coarse; s <= best.stretch + coarse; s += fine)
        if (auto fit = matcher.best(s, price); fit.cost < best.cost) best = std::move(fit);

    auto const as_stated = matcher.best(1, price);
    if (best.cost > as_stated.cost - clear_gain) return std::nullopt;
    auto const needed = std::max<double>(3, 0.6 * static_cast<double>(expected.size()));
    if (static_cast<double>(best.pairs.size()) < needed) return std::nullopt;
    // Another stretch that is hardly dearer and gives several peaks other names: nobody can tell.
    for (auto const& other : tried) {
        if (other.cost > best.cost + clear_gain) continue;
        int disputed = 0;
        for (auto const& pair : other.pairs)
            for (auto const& mine : best.pairs)
                disputed += pair.first == mine.first && pair.second != mine.second ? 1 : 0;
        if (disputed > 1) return std::nullopt;
    }
    return Alignment{best.stretch, best.retention_s, best.pairs.size()};
}

}  // namespace gw::assay
