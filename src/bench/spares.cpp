#include "bench/spares.hpp"

#include <algorithm>
#include <cmath>

namespace gw::bench {

double poisson_at_most(double mean, int most) {
    if (most < 0) return 0;
    double sum = 0;
    for (int k = 0; k <= most; ++k)
        sum += std::exp(k * std::log(mean) - mean - std::lgamma(k + 1.0));
    return std::min(sum, 1.0);
}

Result<SpareStock> spare_stock(double units, double mtbf, double lead_time, double service) {
    if (!(units > 0 && mtbf > 0 && lead_time > 0))
        return fail(Errc::out_of_range,
                    "Units, time between failures and lead time must be above zero.",
                    "units");
    if (!(service > 0 && service < 1))
        return fail(Errc::out_of_range, "The wanted service lies between 0 and 1.", "service");
    SpareStock out;
    out.demand = units * lead_time / mtbf;
    if (!(out.demand < 1e5))
        return fail(Errc::out_of_range,
                    "More than a hundred thousand failures in the lead time are no stock question.",
                    "mtbf");
    constexpr int most = 1000000;  // far beyond any demand let in above
    auto const chance = [&](int k) {
        return std::exp(k * std::log(out.demand) - out.demand - std::lgamma(k + 1.0));
    };
    out.served = chance(0);
    while (out.served < service && out.stock < most) out.served += chance(++out.stock);
    out.served = std::min(out.served, 1.0);
    return out;
}

namespace {

Result<> check(std::vector<Life> const& lives) {
    for (auto const& life : lives)
        if (!(life.time > 0 && std::isfinite(life.time)))
            return fail(Errc::out_of_range, "A life is longer than nothing.", "lives");
    if (std::none_of(lives.begin(), lives.end(), [](Life const& l) { return l.failed; }))
        return fail(Errc::bad_input,
                    "None has failed: nothing says how long they live.",
                    "lives",
                    "add failures, or state a time between failures");
    return {};
}

}  // namespace

Result<std::vector<SurvivalStep>> survival(std::vector<Life> lives) {
    GW_CHECK(check(lives));
    std::sort(
        lives.begin(), lives.end(), [](Life const& a, Life const& b) { return a.time < b.time; });
    std::vector<SurvivalStep> out;
    double S = 1, greenwood = 0;
    for (std::size_t i = 0; i < lives.size();) {
        std::size_t j = i;
        int failures = 0;
        for (; j < lives.size() && lives[j].time == lives[i].time; ++j)
            failures += lives[j].failed ? 1 : 0;
        auto const n = static_cast<double>(lives.size() - i), d = static_cast<double>(failures);
        if (failures > 0) {
            S *= 1 - d / n;
            greenwood += n > d ? d / (n * (n - d)) : 0;
            out.push_back({lives[i].time,
                           S,
                           S * std::sqrt(greenwood),
                           static_cast<int>(lives.size() - i),
                           failures});
        }
        i = j;
    }
    return out;
}

Result<WeibullFit> weibull(std::vector<Life> const& lives) {
    GW_CHECK(check(lives));
    double failures = 0, log_sum = 0, longest = 0;
    bool spread = false;
    for (auto const& l : lives) {
        longest = std::max(longest, l.time);
        spread = spread || l.time != lives.front().time;
        if (!l.failed) continue;
        ++failures;
        log_sum += std::log(l.time);
    }
    if (failures < 2 || !spread)
        return fail(Errc::bad_input,
                    "A law of lives needs two failures or more, and different times.",
                    "lives");
    // 1/b + mean ln t of failures = sum t^b ln t / sum t^b: falling in b, so bisection is safe.
    auto const slope = [&](double b) {
        double top = 0, bottom = 0;
        for (auto const& l : lives) {
            double const w = std::pow(l.time / longest, b);
            top += w * std::log(l.time);
            bottom += w;
        }
        return 1 / b + log_sum / failures - top / bottom;
    };
    double low = 1e-3, high = 1e3;
    for (int i = 0; i < 200; ++i) {
        double const middle = std::sqrt(low * high);
        (slope(middle) > 0 ? low : high) = middle;
    }
    WeibullFit out;
    out.shape = std::sqrt(low * high);
    double sum = 0;
    for (auto const& l : lives) sum += std::pow(l.time / longest, out.shape);
    out.scale = longest * std::pow(sum / failures, 1 / out.shape);
    double const m1 = std::tgamma(1 + 1 / out.shape), m2 = std::tgamma(1 + 2 / out.shape);
    out.mean = out.scale * m1;
    out.sd = out.scale * std::sqrt(m2 - m1 * m1);
    return out;
}

}  // namespace gw::bench
