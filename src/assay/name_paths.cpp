#include "assay/name_paths.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace gw::assay {

namespace {

// Common practice, no source: one expected peak in twenty-five is absent, neighbours go the same
// way through the valves, a run holds half an unexpected peak that is well seen and a few faint
// ones.
constexpr double absent = 0.04, same_way = 0.85, extra_peaks = 0.5;
// One whose time is twice that of an event was most likely turned back by it.
constexpr double own_way = 0.7;

double normal(double x, double sd) {
    return std::exp(-0.5 * x * x / (sd * sd)) / (sd * std::sqrt(2 * std::numbers::pi));
}

}  // namespace

NamePaths::NamePaths(std::vector<trace::Peak> const& peaks,
                     std::vector<ExpectedPeak> const& expected)
    : peaks_(peaks), expected_(expected), n_(peaks.size()), m_(expected.size()) {
    double largest = 0;
    for (auto const& p : peaks) largest = std::max(largest, std::abs(p.height));
    double const length = std::max(peaks.back().end_s, expected.back().retention_s) -
                          std::min(0.0, peaks.front().start_s);
    density_ = static_cast<double>(std::max(n_, m_)) / length;
    for (auto const& p : peaks) {
        double const share = largest > 0 ? std::max(std::abs(p.height) / largest, 1e-6) : 1e-6;
        // Each power of ten below a hundredth makes an unexpected peak thrice as common.
        double const more = std::pow(3, std::max(0.0, -2 - std::log10(share)));
        extra_.push_back(extra_peaks * more / length / density_);
    }
}

void NamePaths::forward(std::vector<double> const& fit) {
    std::size_t const k = origins_;
    for (auto& layer : ahead_) layer.assign((n_ + 1) * (m_ + 1) * k, 0.0);
    // Before the first name every origin is as good as any other.
    for (std::size_t o = 0; o < k; ++o) ahead_[named][o] = 1 / static_cast<double>(k);
    double const change = (1 - same_way) / static_cast<double>(k);
    for (std::size_t i = 0; i <= n_; ++i)
        for (std::size_t j = 0; j <= m_; ++j) {
            std::size_t const here = at(i, j);
            if (i > 0 && j > 0) {
                std::size_t const from = at(i - 1, j - 1);
                double all = 0;
                for (std::size_t o = 0; o < k; ++o)
                    all += ahead_[named][from + o] + ahead_[extra][from + o] +
                           ahead_[missing][from + o];
                double const* f = fit.data() + ((i - 1) * m_ + (j - 1)) * k;
                for (std::size_t o = 0; o < k; ++o)
                    ahead_[named][here + o] =
                        f[o] * (same_way * (ahead_[named][from + o] + ahead_[extra][from + o] +
                                            ahead_[missing][from + o]) +
                                change * all);
            }
            if (i > 0)
                for (std::size_t o = 0, from = at(i - 1, j); o < k; ++o)
                    ahead_[extra][here + o] =
                        extra_[i - 1] * (ahead_[named][from + o] + ahead_[extra][from + o]);
            if (j > 0)
                for (std::size_t o = 0, from = at(i, j - 1); o < k; ++o)
                    ahead_[missing][here + o] =
                        absent * (ahead_[named][from + o] + ahead_[extra][from + o] +
                                  ahead_[missing][from + o]);
        }
}

void NamePaths::backward(std::vector<double> const& fit) {
    std::size_t const k = origins_;
    for (auto& layer : behind_) layer.assign((n_ + 1) * (m_ + 1) * k, 0.0);
    double const change = (1 - same_way) / static_cast<double>(k);
    for (std::size_t i = n_ + 1; i-- > 0;)
        for (std::size_t j = m_ + 1; j-- > 0;) {
            std::size_t const here = at(i, j);
            if (i == n_ && j == m_) {
                for (auto& layer : behind_)
                    for (std::size_t o = 0; o < k; ++o) layer[here + o] = 1;
                continue;
            }
            double all = 0;
            std::size_t const next = i < n_ && j < m_ ? at(i + 1, j + 1) : 0;
            double const* f = next > 0 ? fit.data() + (i * m_ + j) * k : nullptr;
            if (next > 0)
                for (std::size_t o = 0; o < k; ++o) all += f[o] * behind_[named][next + o];
            for (std::size_t o = 0; o < k; ++o) {
                double name = 0, more = 0, less = 0;
                if (next > 0) name = same_way * f[o] * behind_[named][next + o] + change * all;
                if (i < n_) more = extra_[i] * behind_[extra][at(i + 1, j) + o];
                if (j < m_) less = absent * behind_[missing][at(i, j + 1) + o];
                behind_[named][here + o] = behind_[extra][here + o] = name + more + less;
                behind_[missing][here + o] = name + less;
            }
        }
}

double NamePaths::sum(std::vector<double> const& times,
                      std::size_t origins,
                      std::vector<double> const& own,
                      Spread const& spread,
                      std::vector<double>& names) {
    origins_ = origins;
    std::vector<double> fit(n_ * m_ * origins, 0.0);
    auto const density_at = [&](std::size_t i, std::size_t e, double time) {
        double const window = expected_[e].window_s, off = peaks_[i].apex_s - time;
        if (!(std::abs(off) <= spread.limit * window)) return 0.0;
        double const p = (1 - spread.share_wide) * normal(off, spread.narrow * window) +
                         spread.share_wide * normal(off, spread.wide * window);
        return (1 - absent) * p / density_;
    };
    for (std::size_t i = 0; i < n_; ++i)
        for (std::size_t e = 0; e < m_; ++e) {
            bool const of_its_own = std::isfinite(own[e]);
            double const alone = of_its_own ? own_way * density_at(i, e, own[e]) : 0,
                         with_others = of_its_own ? 1 - own_way : 1;
            for (std::size_t o = 0; o < origins; ++o)
                fit[(i * m_ + e) * origins + o] =
                    alone + with_others * density_at(i, e, times[e * origins + o]);
        }
    forward(fit);
    std::size_t const end = at(n_, m_);
    double total = 0;
    for (auto const& layer : ahead_)
        for (std::size_t o = 0; o < origins; ++o) total += layer[end + o];
    names.assign(n_ * m_, 0.0);
    if (!(total > 0)) return 0;
    backward(fit);
    for (std::size_t i = 0; i < n_; ++i)
        for (std::size_t e = 0; e < m_; ++e) {
            std::size_t const here = at(i + 1, e + 1);
            for (std::size_t o = 0; o < origins; ++o)
                names[i * m_ + e] += ahead_[named][here + o] * behind_[named][here + o] / total;
        }
    return total;
}

std::vector<double> NamePaths::likeliest_times(std::vector<double> const& times,
                                               std::size_t origins,
                                               std::vector<double> const& own,
                                               std::vector<double> const& names) const {
    std::vector<double> out(m_);
    for (std::size_t e = 0; e < m_; ++e) {
        std::vector<double> weight(origins, 0.0);
        for (std::size_t i = 1; i <= n_; ++i)
            for (std::size_t o = 0; o < origins; ++o)
                weight[o] += ahead_[named][at(i, e + 1) + o] * behind_[named][at(i, e + 1) + o];
        auto const most = std::max_element(weight.begin(), weight.end());
        bool const seen = *most > 0;
        // One that is missing goes the way of the one before it.
        std::size_t const o = seen ? static_cast<std::size_t>(most - weight.begin()) : 0;
        out[e] = times[e * origins + o];
        if (!std::isfinite(own[e])) continue;
        std::size_t nearest = 0;
        for (std::size_t i = 1; i < n_; ++i)
            if (names[i * m_ + e] > names[nearest * m_ + e]) nearest = i;
        bool const any = names[nearest * m_ + e] > 0;
        double const apex = any ? peaks_[nearest].apex_s : own[e];
        if (std::abs(apex - own[e]) <= std::abs(apex - out[e])) out[e] = own[e];
    }
    return out;
}

}  // namespace gw::assay
